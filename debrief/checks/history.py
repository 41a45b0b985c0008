"""A value against its parameter's own history: jumps, rates of change, contradictions, a factor of ten.

Conventions: a history is the standing measured readouts of one parameter, subject and unit, in order of time. Robust statistics
(median, median absolute deviation) because one wrong number must not hide itself; no history, no verdict.
"""
from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise
from statistics import median

from ..records.rows import Row
from .review import Findings, Review, Told

MIN_HISTORY = 4
JUMP_DEVIATIONS = 6.0
STANDS_OUT = 0.2
ON_THE_WAY = 3.0
"""A value at most so many times its neighbour in time, or the reverse, is on its way there: power that is raised by decades loses no point."""
CONTRADICTION_S = 20.0
LONG_HISTORY = 50
Series = list[tuple[int, Row, float]]


def series_key(row: Row) -> tuple[str, str, str]:
    return tuple(str(row.get(name) or "").casefold() for name in ("parameter", "subject", "unit"))  # type: ignore[return-value]


def histories(review: Review) -> Iterator[Series]:
    """Standing measured values of each parameter, with their position in the review."""
    series: dict[tuple[str, str, str], Series] = defaultdict(list)
    for position, row in review.of("readouts"):
        value = row.get("value")
        measured = row.get("class") in (None, "", "measured") and not row.get("superseded") and not row.get("past")
        if measured and value is not None and row.get("parameter"):
            series[series_key(row)].append((position, row, float(value)))  # type: ignore[arg-type]
    return iter(series.values())


def usual_values(values: Series) -> list[float]:
    """For each value of a history the median of the others; of a long history that of all, which one value does not move."""
    if len(values) > LONG_HISTORY:
        return [median(value for _, _, value in values)] * len(values)
    return [median([*(v for _, _, v in values[:at]), *(v for _, _, v in values[at + 1:])] or [0.0]) for at in range(len(values))]


def jumps(review: Review) -> Findings:
    """A value far from the rest of its own history, both before and after it."""
    told = Told(review, "jump")
    for values in histories(review):
        if len(values) < MIN_HISTORY:
            continue
        steps = [abs(b - a) for (_, _, a), (_, _, b) in pairwise(values)]
        usual = median(steps)
        for at, (position, row, value) in enumerate(values):
            near = [values[i][2] for i in (at - 1, at + 1) if 0 <= i < len(values)]
            if all(abs(value - other) > JUMP_DEVIATIONS * usual for other in near) if usual else _stands_out(value, near):
                told.row(position, str(row.get("parameter")), f"jump: {_plain(value)} between {' and '.join(map(_plain, near))}")
    return told.findings()


def _stands_out(value: float, near: list[float]) -> bool:
    """In a history that hardly moves: a value between two that are alike, well away from both."""
    if len(near) < 2:
        return False
    bound = STANDS_OUT * max(map(abs, near))
    return abs(near[0] - near[1]) <= bound < min(abs(value - other) for other in near)


def factor_of_ten(review: Review) -> Findings:
    """A value ten or a hundred times (or a tenth of) the median of its history: a lost or added point or zero."""
    told = Told(review, "factor of ten")
    for values in histories(review):
        if len(values) < MIN_HISTORY - 1:
            continue
        for (position, row, value), rest in zip(values, usual_values(values), strict=True):
            if not (value and rest):
                continue
            near = [f for f in (0.01, 0.1, 10, 100) if abs(value / rest / f - 1) < 0.15]
            if near and not _on_the_way(values, position):
                why = f"{_plain(value)} is about {near[0]:g} times its usual {_plain(rest)}: a lost point or zero?"
                told.row(position, str(row.get("parameter")), why)
    return told.findings()


def _on_the_way(values: Series, position: int) -> bool:
    """Whether a value is near one of its neighbours in time."""
    at = next(i for i, (other, _, _) in enumerate(values) if other == position)
    beside = [values[i][2] for i in (at - 1, at + 1) if 0 <= i < len(values)]
    return any(other and 1 / ON_THE_WAY <= values[at][2] / other <= ON_THE_WAY for other in beside)


def contradictions(review: Review) -> Findings:
    """Two different values of one thing within seconds by different stations, neither corrected nor approximate."""
    told = Told(review, "contradiction")
    for values in histories(review):
        for (p, one, a), (q, two, b) in pairwise(values):
            seconds = _seconds_apart(one, two)
            told_twice = one.station and two.station and one.station != two.station
            if a != b and told_twice and seconds is not None and seconds <= CONTRADICTION_S:
                why = f"{_plain(a)} from {one.station}, {_plain(b)} from {two.station}, {seconds:.0f} s apart"
                told.row(p, str(one.get("parameter")), why, q, serious=True)
    return told.findings()


def _seconds_apart(one: Row, two: Row) -> float | None:
    if one.place.start_s is None or two.place.start_s is None:
        return None
    return abs(two.place.start_s - one.place.start_s)


def _plain(value: float) -> str:
    return f"{value:g}"

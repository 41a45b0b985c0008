"""What stands on the debrief sheet, before it is written as HTML: items, groups, grids. Nothing here knows of sound or markup."""
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import isclose
from typing import Any

from ..checks.certainty import CHANCE
from ..records.findings import CheckResult
from ..records.kinds import KINDS
from ..records.rows import Row
from ..store.following import AS_READ
from ..timebase import hms
from ..units import canonical, compatible, convert
from .contents import Contents
from .plain_grounds import plain, plain_result
from .plots import Mark, Point, readout_plot, timeline
from .records_of import reasons
from .row_text import SIGNS, by_of, text_of, time_of, value_of

Series = tuple[str, str, str]
"""Parameter, subject and unit of readouts that are drawn as one."""
MOST_ON_FIRST_PAGE = 10
FEWEST_TO_PLOT = 3
MOST_PLOTS = 12
SAME_LIMIT = 1e-3
"""Limits that differ by less are one, told in two units."""
LANES = {"steps": "Steps", "clock_events": "Clocks", "polls": "Polls", "ratings": "Ratings", "readouts": "Readouts",
         "anomalies": "Anomalies", "stop_calls": "Stop calls"}
TOLD_FIRST = ("stop_calls", "exceedances", "clock_events", "decisions", "anomalies", "polls", "steps")
"""Kinds by how much they tell of what happened."""


@dataclass(frozen=True, slots=True)
class Item:
    """One row as it is shown. why: grounds for doubt; look: why to look, apart from doubt."""

    number: int
    time: str
    by: str
    text: str
    sign: str
    certainty: str
    why: str
    look: str
    heard: str
    row: Row


@dataclass(frozen=True, slots=True)
class GridRow:
    axis: str
    condition: str
    cells: tuple[tuple[Item, ...], ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """Ratings: a row for each axis and condition, a column for each subject; every value said stays, none is averaged."""

    subjects: tuple[str, ...]
    rows: tuple[GridRow, ...]


Material = Contents
"""All that a sheet is made of."""


def item_of(row: Row) -> Item:
    return Item(row.number or 0, time_of(row), by_of(row), text_of(row), SIGNS[row.certainty], row.certainty,
                "; ".join(reasons(row)) if row.certainty == "doubtful" else "", "; ".join(map(plain, row.look)), row.place.text, row)


def items(rows: Iterable[Row]) -> list[Item]:
    return [item_of(row) for row in rows]


def _has(row: Row, *names: str) -> bool:
    return any(row.get(name) is not None for name in names)


def what_happened(material: Material) -> list[Item]:
    """The rows that tell most, kinds taking turns so that none crowds out the others, shown in the order of time."""
    rows = [row for row in material.of(*TOLD_FIRST) if row.kind != "steps" or row.get("event") == "complete"]
    rows = [row for row in rows if row.kind != "polls" or row.get("decision") or row.get("answer") == "NO-GO"]
    turns = zip(rows, _turns(rows), strict=True)
    told = [row for row, _ in sorted(turns, key=lambda at: (at[0].certainty == "doubtful", at[1], TOLD_FIRST.index(at[0].kind)))]
    told = told[:MOST_ON_FIRST_PAGE]
    return items(sorted(told, key=lambda row: (row.place.start_s or 0.0, row.place.line_index or 0)))


def _turns(rows: Sequence[Row]) -> Iterator[int]:
    """For each row how many of its kind come before it, in steps of three: 0 for the first three."""
    before: Counter[str] = Counter()
    for row in rows:
        yield before[row.kind] // 3
        before[row.kind] += 1


_OPEN: dict[str, Callable[[Row], bool]] = {
    "stop_calls": lambda row: not _has(row, "released_s", "released_line"),
    "exceedances": lambda row: True,
    "readbacks": lambda row: row.get("match") is False and not row.get("corrected"),
    "anomalies": lambda row: not _has(row, "resolved_s", "resolved_line"),
    "open_items": lambda row: not _has(row, "closed_s", "closed_line"),
    "polls": lambda row: row.get("answer") == "none",
}


def to_decide(material: Material) -> list[Item]:
    """What is left open, the gravest kind first: stops, exceedances, wrong read-backs, anomalies, open items, answers that are missing."""
    changed = [row for row in material.rows if any("changed since you looked" in why for why in row.look)]
    seen = {row.number for row in changed}
    return items([*changed, *(row for kind, still in _OPEN.items() for row in material.of(kind) if still(row) and row.number not in seen)])


def doubtful(material: Material) -> tuple[list[Item], float]:
    """The doubtful rows to hear first, in the order of the listening list, and the seconds that it takes."""
    order = {item.row: position for position, item in enumerate(material.listening)}
    cost = {item.row: item.seconds for item in material.listening}
    rows = [row for row in material.rows if row.certainty == "doubtful"]
    first = sorted(rows, key=lambda row: order.get(row.number, len(order)))[:MOST_ON_FIRST_PAGE]
    return items(first), sum(cost.get(row.number) or (row.place.span.duration_s if row.place.span else 0.0) for row in first)


def crew_questions(material: Material) -> list[tuple[str, list[Item]]]:
    numbered = material.numbered()
    return [(check.says, items(numbered[n] for n in check.rows)) for check in _holding(material) if check.check == "ask the crew"]


def warnings(material: Material) -> list[tuple[str, str, bool, list[Item]]]:
    """What the checks say, the serious first: check, sentence, serious, rows."""
    numbered = material.numbered()
    told = [check for check in _holding(material) if check.check != "ask the crew"]
    return [(check.check, _as_read(check, numbered) + plain_result(check.says), check.serious, items(numbered[n] for n in check.rows))
            for check in sorted(told, key=lambda check: not check.serious)]


def _holding(material: Material) -> list[CheckResult]:
    """What the checks said of rows that all stand still: one that a person rejected takes with it what was said of it."""
    numbered = material.numbered()
    return [check for check in material.checks if all(number in numbered for number in check.rows)]


def _as_read(check: CheckResult, numbered: Mapping[int, Row]) -> str:
    """'as first read: ' where a person has changed since what a check spoke of."""
    whys = [text.removeprefix(AS_READ) for number in check.rows for text in numbered[number].look if text.startswith(AS_READ)]
    return AS_READ if any(check.says.endswith(why) for why in whys) else ""


def counts(rows: Sequence[Row]) -> list[tuple[str, str, int]]:
    """Sign, certainty and number of rows, the surest first."""
    return [(sign, certainty, sum(row.certainty == certainty for row in rows)) for certainty, sign in SIGNS.items()]


@dataclass(frozen=True, slots=True)
class Expected:
    """counted: rows with a calibrated chance that no person has heard; sure: those that are not doubtful, and how many of them are likely wrong.

    uncounted: the other rows that no person has heard.
    """

    wrong: float
    sure: int
    counted: int
    uncounted: int


def expected_wrong(rows: Sequence[Row]) -> Expected:
    """What the calibration expects; the two figures, how many stand as sure and how many of these are wrong, belong together."""
    unheard = [row for row in rows if row.certainty != "heard by a person"]
    told = [row for row in unheard if CHANCE in row.witnesses]
    sure = [float(row.witnesses[CHANCE]) for row in told if row.certainty != "doubtful"]
    return Expected(sum(sure), len(sure), len(told), len(unheard) - len(told))


def ratings_grid(material: Material) -> Grid | None:
    rows = material.of("ratings")
    if not rows:
        return None
    subjects = tuple(dict.fromkeys(str(row.get("subject") or "rater not known") for row in rows))
    keys = dict.fromkeys((str(row.get("axis") or ""), _condition(row)) for row in rows)
    return Grid(subjects, tuple(GridRow(axis, held, tuple(
        tuple(items(row for row in rows if (str(row.get("axis") or ""), _condition(row)) == (axis, held)
                    and str(row.get("subject") or "rater not known") == subject))
        for subject in subjects)) for axis, held in sorted(keys, key=lambda key: (key[0], list(keys).index(key)))))


def _condition(row: Row) -> str:
    held = row.get("condition")
    return ", ".join(f"{name} {value}" for name, value in held.items()) if isinstance(held, Mapping) else ""


def polls(material: Material) -> list[tuple[str, list[Item]]]:
    """Answers by question, in the order of asking."""
    return _grouped(material.of("polls"), lambda row: str(row.get("question") or "not known what was asked"))


def clocks(material: Material) -> list[tuple[str, list[Item]]]:
    rows = sorted(material.of("clock_events", "clock_calls"), key=lambda row: row.place.start_s or 0.0)
    return _grouped(rows, lambda row: str(row.get("clock") or "unnamed clock"))


def missing(material: Material) -> list[tuple[str, list[Item]]]:
    return _grouped(material.of("coverage"), lambda row: f"Card {row.get('card')}" if row.get("card") else "Outside the cards")


def _grouped(rows: Sequence[Row], key: Callable[[Row], str]) -> list[tuple[str, list[Item]]]:
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(key(row), []).append(row)
    return [(name, items(group)) for name, group in groups.items()]


def wrong_read_backs(material: Material) -> list[Item]:
    return items(row for row in material.of("readbacks") if row.get("match") is False)


def everything(material: Material) -> list[tuple[str, str, list[Item]]]:
    """Every row once, by kind: title, what the kind is, rows."""
    return [(kind.title, kind.says, items(material.of(table))) for table, kind in KINDS.items() if material.of(table)]


# drawings


def time_span(rows: Sequence[Row]) -> tuple[float, float] | None:
    times = [row.place.start_s for row in rows if row.place.start_s is not None]
    return (min(times), max(*times, min(times) + 1.0)) if times else None


def drawn_timeline(material: Material) -> Any:
    span = time_span(material.rows)
    if span is None:
        return None
    marks = [Mark(row.place.start_s, LANES[row.kind], row.number or 0, f"row {row.number}, {hms(row.place.start_s)}: {text_of(row)}",
                  row.certainty == "doubtful") for row in material.of(*LANES) if row.place.start_s is not None]
    return timeline(marks, [name for kind, name in LANES.items() if material.of(kind)], span)


def plots(material: Material) -> list[tuple[str, Any]]:
    """Readouts that have a limit or were given often enough to be drawn; those beyond their limits first."""
    span = time_span(material.rows)
    series: dict[Series, list[Row]] = {}
    for row in material.of("readouts"):
        if row.get("class") in (None, "", "measured") and row.place.start_s is not None and _number(row) is not None:
            series.setdefault(_series(row), []).append(row)
    drawn = [(key, rows, _limits(material, key)) for key, rows in series.items() if key[0]]
    drawn = [item for item in drawn if item[2] or len(item[1]) >= FEWEST_TO_PLOT]
    exceeded = {_series(row)[::2] for row in material.of("exceedances")}
    drawn.sort(key=lambda item: (item[0][::2] not in exceeded, not item[2], -len(item[1])))
    return [] if span is None else [(_series_name(key), readout_plot(_series_name(key), [_point(row) for row in rows], limits, span))
                                    for key, rows, limits in drawn[:MOST_PLOTS]]


def _series(row: Row) -> Series:
    return str(row.get("parameter") or ""), str(row.get("subject") or ""), str(row.get("unit") or "")


def _number(row: Row) -> float | None:
    value = row.get("value")
    return None if value is None or isinstance(value, str | Mapping) else float(value)


def _point(row: Row) -> Point:
    return Point(row.place.start_s or 0.0, _number(row) or 0.0, row.certainty, row.number or 0,
                 f"row {row.number}, {hms(row.place.start_s or 0.0)}: {value_of(row)}, {row.certainty}")


def _series_name(key: tuple[str, str, str]) -> str:
    parameter, subject, unit = key
    of = f" ({subject})" if subject and subject.casefold() not in parameter.casefold() else ""
    return f"{parameter}{of}{', ' + unit if unit else ''}"


def _limits(material: Material, key: Series) -> list[tuple[str, float]]:
    """The session's limits of this parameter, in the unit of the series: those of its name, and those that a check held it against."""
    parameter, subject, unit = key
    held = [(row.get("bound"), row.get("limit")) for row in material.of("exceedances") if _series(row)[::2] == (parameter, unit)]
    found: dict[tuple[str, float], None] = {}
    for limit in material.session.limits:
        named = limit.what.casefold() == parameter.casefold() and (limit.applies_to or subject).casefold() == subject.casefold()
        for bound, edge in (("max", limit.max), ("min", limit.min)):
            for value in () if edge is None else _in_unit(edge, limit.unit, unit):
                if named or any(side == bound and isinstance(told, Decimal) and isclose(value, told, rel_tol=SAME_LIMIT) for side, told in held):
                    found[bound, value] = None
    return list(found)


def _in_unit(edge: float, own: str | None, unit: str) -> list[float]:
    """The edge in the unit of the series; nothing where the two cannot be compared."""
    wanted, given = canonical(unit), canonical(own)
    if wanted is None or given is None or wanted == given:
        return [edge]
    return [round(float(convert(Decimal(str(edge)), given, wanted)), 3)] if compatible(given, wanted) else []

"""Which row of a new pass is which row of before.

Rows are matched one to one within a kind, a recording and a channel by the samples that their places share. Of several fits the
tie-break `closest` decides: most shared samples, then most equal fields, then the nearer start, then the lower number. Places that
share less than a quarter of the shorter one are no fit. Rows without sound are matched by the transcript's line; rows about something
that was searched and is absent, by what they are about (all fields but their state).
"""
from bisect import bisect_left, bisect_right
from collections.abc import Hashable, Mapping, Sequence
from typing import NamedTuple

from ..records.rows import FieldValue, Row
from ..timebase import Span

LEAST_SHARE = 0.25


class Fit(NamedTuple):
    """One possible pair, ordered best first: closest sorts as described above."""

    minus_shared: int
    minus_equal_fields: int
    start_distance: int
    number: int
    new: int


def match(before: Mapping[int, Row], after: Sequence[Row]) -> dict[int, int]:
    """Index in after -> number of the row of before that it is; rows without a partner are left out."""
    groups: dict[Hashable, list[int]] = {}
    for number, row in before.items():
        groups.setdefault(_group(row), []).append(number)
    fits: list[Fit] = []
    ordered = {key: _by_start(before, numbers) for key, numbers in groups.items()}
    for index, row in enumerate(after):
        if (group := ordered.get(_group(row))) is not None:
            fits += _fits(row, index, before, group)
    return closest(fits)


def closest(fits: Sequence[Fit]) -> dict[int, int]:
    """Takes pairs best first, each row once."""
    pairs: dict[int, int] = {}
    taken: set[int] = set()
    for fit in sorted(fits):
        if fit.new not in pairs and fit.number not in taken:
            pairs[fit.new] = fit.number
            taken.add(fit.number)
    return pairs


def says(row: Row) -> dict[str, FieldValue]:
    """What a row says, apart from how sure it is: its filled fields. Two rows that say the same need no second look."""
    return {name: item.value for name, item in row.fields.items() if item.value is not None}


def _group(row: Row) -> Hashable:
    place = row.place
    if place.role == "searched and absent":
        return row.kind, "absent", tuple(sorted((name, str(value)) for name, value in says(row).items() if name != "state"))
    if place.source is not None and place.span is not None:
        return row.kind, place.source.recording, place.source.channel
    return row.kind, "line", place.line_index


class _Group(NamedTuple):
    starts: list[int]
    numbers: list[int]
    longest: int


def _span(row: Row) -> Span:
    return row.place.span or Span(0, 0)


def _by_start(rows: Mapping[int, Row], numbers: Sequence[int]) -> _Group:
    ordered = sorted(numbers, key=lambda number: (_span(rows[number]), number))
    spans = [_span(rows[number]) for number in ordered]
    return _Group([span.start for span in spans], ordered, max(span.end - span.start for span in spans))


def _fits(row: Row, index: int, before: Mapping[int, Row], group: _Group) -> list[Fit]:
    span, said, fits = _span(row), says(row), []
    first, last = bisect_left(group.starts, span.start - group.longest), bisect_right(group.starts, span.end)
    anywhere = row.place.span is None or row.place.role == "searched and absent"
    for number in group.numbers if anywhere else group.numbers[first:last]:
        other = _span(before[number])
        shared = _shared(span, other)
        if shared or anywhere:
            equal = sum(1 for name, value in says(before[number]).items() if said.get(name) == value)
            fits.append(Fit(-shared, -equal, abs(span.start - other.start), number, index))
    return fits


def _shared(one: Span, other: Span) -> int:
    """Samples shared; 0 when they are too few. Moments (spans of no length) at the same sample share one."""
    shared = one.overlap(other)
    shorter = min(one.end - one.start, other.end - other.start)
    if shorter == 0:
        return int(max(one.start, other.start) <= min(one.end, other.end))
    return shared if shared >= LEAST_SHARE * shorter else 0

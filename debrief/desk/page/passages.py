"""Passages: rows whose sound runs together are played in one, so that what several rows share is heard once.

A passage grows from one row to the rows beside it on the same channel that nobody has decided yet and whose padded sound touches it, the
nearest first, up to LONGEST_S. The words of every row in it are heard whole, with the pad around them.
"""
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ...checks.listening_list import PAD_S
from ...records.rows import Row
from ...records.sound import Source
from ...timebase import HEARING_RATE_HZ, Span
from ..sheet import clip_place
from .index import HEARD, Entry, Index

LONGEST_S = 20.0
MOST_BESIDE = 60
"""Entries of the list that are looked at on either side of a row."""


@dataclass(frozen=True, slots=True)
class Passage:
    """The sound of several rows in one; span: from the first word to the last, without the pad; rows in the order of time."""

    source: Source
    span: Span
    rows: tuple[Row, ...]


def passage(row: Row, beside: Sequence[Row]) -> Passage | None:
    """The passage that grows from a row; None where it has no sound of its own."""
    own = clip_place(row)
    if own is None:
        return None
    source, span = own
    left = [(other, place[1]) for other in beside if (place := clip_place(other)) is not None and place[0] == source]
    inside = [(row, span)]
    while found := min((item for item in left if _fits(span, item[1])), key=lambda item: _apart(span, item[1]), default=None):
        span = span.hull(found[1])
        left.remove(found)
        inside.append(found)
    return Passage(source, span, tuple(item for item, _ in sorted(inside, key=lambda item: (item[1].start, item[1].end, item[0].number or 0))))


def _fits(span: Span, other: Span) -> bool:
    return _apart(span, other) <= 2 * PAD_S and span.hull(other).duration_s + 2 * PAD_S <= LONGEST_S


def _apart(span: Span, other: Span) -> float:
    """Seconds between two stretches; by how much longer the hull is than the first where they touch, as a number below 0."""
    gap = max(other.start - span.end, span.start - other.end) / HEARING_RATE_HZ
    return gap if gap > 0 else (span.hull(other).duration_s - span.duration_s) / LONGEST_S - 1


def rows_beside(index: Index, entry: Entry, row_of: Callable[[int], Row]) -> list[Row]:
    """The rows around an entry, in time and on its loop, that stand and that nobody has heard."""
    found = []
    for other in index.around(entry.key, MOST_BESIDE):
        near = entry.start_s is None or other.start_s is None or abs(other.start_s - entry.start_s) <= LONGEST_S
        if other.number is not None and near and other.loop == entry.loop and other.state == "standing" and other.certainty != HEARD:
            found.append(row_of(other.number))
    return found

"""Which field of a row carries its value and its name, and which rows say the same thing again in other sound."""
from collections import defaultdict
from itertools import islice

from ..records.rows import Row
from .review import Review

VALUE_FIELD = {"readouts": "value", "ratings": "value", "clock_calls": "offset_s", "polls": "answer", "times": "seconds",
               "identifiers": "value", "comparisons": "difference", "readbacks": "match", "steps": "event", "clock_events": "event"}
NAME_FIELD = {"readouts": "parameter", "ratings": "axis", "clock_calls": "clock", "polls": "station", "comparisons": "parameter",
              "steps": "step", "clock_events": "clock"}
SAME_THING = {"readouts": ("parameter", "subject", "unit"), "ratings": ("axis", "subject", "scale"), "clock_calls": ("clock",),
              "identifiers": ("what",), "polls": ("station", "question")}
MOST_REPEATS = 9
"""More repeats than this are not counted."""


def main_field(row: Row) -> str:
    """The field that carries what the row is about; a clock call tells a time gone, a time left or a mark."""
    if row.kind == "clock_calls":
        return next((name for name in ("offset_s", "remaining_s", "mark") if row.get(name) is not None), "offset_s")
    return VALUE_FIELD.get(row.kind, next(iter(row.fields), "value"))


def repeats(review: Review) -> dict[int, tuple[int, ...]]:
    """Positions of rows that say the same value of the same thing in another turn, in sound that does not overlap and is no copy."""
    groups: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for kind, names in SAME_THING.items():
        for position, row in review.of(kind):
            value = row.get(main_field(row))
            if value is not None and row.get(NAME_FIELD.get(kind, names[0])):
                groups[kind, value, *(str(row.get(name) or "").casefold() for name in names)].append(position)
    return {one: others for group in groups.values() for one in group
            if (others := tuple(islice((two for two in group if _apart(review.rows[one], review.rows[two])), MOST_REPEATS)))}


def _apart(one: Row, two: Row) -> bool:
    if one.turn == two.turn or "copy of" in one.witnesses or "copy of" in two.witnesses:
        return False
    first, second = one.place, two.place
    if first.span is None or second.span is None:
        return first.line_index != second.line_index
    if first.source == second.source:
        return first.span.overlap(second.span) == 0
    return first.start_s is not None and second.start_s is not None and abs(first.start_s - second.start_s) > 2

"""Rows that stand or fall with another: when a person decides that one, they follow it, in the same deed.

A row of exceedances speaks of a readout: it names the limit and its side, so that a new value can be held against it here. Where that
cannot be told (another unit, no number) it stands as it was, and says why to look at it. A row of events tells again what an anomaly, an
open item or a step tells. What a person has decided of such a row itself stays.
"""
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any, NamedTuple

from ..records.rows import Certainty, Field, Row
from .codec import row_in
from .database import Database

AS_READ = "as first read: "
RETOLD = {"anomalies": {"": "anomaly"}, "open_items": {"": "open_item"},
          "steps": {"start": "step_start", "complete": "step_complete", "repeat": "step_start"}}
"""Kind of row -> its event ('' for any) -> the kind under which the table of events tells it again."""
_HEARD: Certainty = "heard by a person"


class Followed(NamedTuple):
    """A row that follows another: as it was, and as it is now; None where it holds no more."""

    was: Row
    now: Row | None


def looked_at(row: Row) -> tuple[str, ...]:
    """Reasons to look, which spoke of what the machine had read, once a person has changed the row."""
    return tuple(text if text.startswith(AS_READ) else AS_READ + text for text in row.look)


def follows(row: Row) -> str:
    """The note of an edit that was made because of a decision on this row."""
    return f"follows row {row.number}"


def heard(row: Row) -> Row:
    """The row, right as it stands: a person heard it."""
    return replace(row, fields={name: replace(item, certainty=_HEARD) for name, item in row.fields.items()}, doubt=())


def followers(db: Database, before: Row, after: Row | None) -> Iterator[Followed]:
    """What becomes of the rows that stand on this one and that no person has touched. after: the row as decided, None where it was rejected."""
    if before.kind == "readouts" and (after is None or any(before.get(name) != after.get(name) for name in ("parameter", "value", "unit"))):
        for row in _beside(db, "exceedances", before):
            if row.get("value") == before.get("value"):
                yield Followed(row, None if after is None else _following(row, before, after))
    if before.kind in RETOLD:
        for row in _beside(db, "events", before):
            if row.turn == before.turn and row.fields["kind"].origin == "carried" and row.get("kind") == _retold(before):
                yield Followed(row, None if after is None else _told_again(row, before, after))


def _beside(db: Database, kind: str, row: Row) -> Iterator[Row]:
    """Rows of a kind on the same first piece of evidence that nobody has decided by themselves."""
    for item in db.all('SELECT c."row" FROM current c LEFT JOIN edits e ON e.edit = c.edit WHERE c.kind = ? AND c.state = ? AND c.start_s IS ? '
                       "AND (c.edit IS NULL OR e.note = ?)", (kind, "standing", row.place.start_s, follows(row))):
        found = row_in(item["row"])
        if _place(found) == _place(row):
            yield found


def _following(row: Row, before: Row, after: Row) -> Row | None:
    value, limit = after.get("value"), row.get("limit")
    same = before.get("parameter") == after.get("parameter") and before.get("unit") == after.get("unit")
    if not same or not isinstance(value, Decimal) or not isinstance(limit, Decimal):
        return replace(row, look=(*row.look, "its readout was changed: see whether it is still beyond the limit"))
    beyond = value > limit if row.get("bound") == "max" else value < limit
    return row.with_fields(value=Field(value, "person", "heard by a person")) if beyond else None


def _retold(row: Row) -> str | None:
    told = RETOLD[row.kind]
    return told.get("") or told.get(str(row.get("event")))


def _told_again(row: Row, before: Row, after: Row) -> Row | None:
    """The event as the row says it now; None where the table of events does not tell such a thing."""
    kind = _retold(after)
    if kind is None:
        return None
    names = ("card", "step") if before.kind == "steps" else ("what",)
    what = after.get("what") if before.kind != "steps" else f"step {after.get('step')}"
    changed = {"kind": Field(kind, "person")} if kind != row.get("kind") else {}
    changed |= {"what": Field(what, "person")} if any(before.get(name) != after.get(name) for name in names) else {}
    return heard(row.with_fields(**changed))


def _place(row: Row) -> tuple[Any, ...]:
    return row.place.source, row.place.span, row.place.line_index

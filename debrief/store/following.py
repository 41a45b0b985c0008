"""Rows that say of a readout that it is beyond its limit: when a person changes the readout, they follow it, in the same deed.

Such a row names the limit and its side, so that the new value can be held against it here. Where that cannot be told (another unit, no
number) it stands as it was, and says why to look at it.
"""
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any, NamedTuple

from ..records.rows import Field, Row
from .codec import row_in
from .database import Database

AS_READ = "as first read: "


class Followed(NamedTuple):
    """A row that follows another: as it was, and as it is now; None where it holds no more."""

    was: Row
    now: Row | None


def looked_at(row: Row) -> tuple[str, ...]:
    """Reasons to look, which spoke of what the machine had read, once a person has changed the row."""
    return tuple(text if text.startswith(AS_READ) else AS_READ + text for text in row.look)


def followers(db: Database, before: Row, after: Row) -> Iterator[Followed]:
    """What becomes of the rows that stand on the same evidence as this readout, and that no person has touched."""
    if before.kind != "readouts" or all(before.get(name) == after.get(name) for name in ("parameter", "value", "unit")):
        return
    for item in db.all('SELECT "row" FROM current WHERE kind = ? AND state = ? AND edit IS NULL', ("exceedances", "standing")):
        row = row_in(item["row"])
        if _place(row) == _place(before) and row.get("value") == before.get("value"):
            yield Followed(row, _following(row, before, after))


def _following(row: Row, before: Row, after: Row) -> Row | None:
    value, limit = after.get("value"), row.get("limit")
    same = before.get("parameter") == after.get("parameter") and before.get("unit") == after.get("unit")
    if not same or not isinstance(value, Decimal) or not isinstance(limit, Decimal):
        return replace(row, look=(*row.look, "its readout was changed: see whether it is still beyond the limit"))
    beyond = value > limit if row.get("bound") == "max" else value < limit
    return row.with_fields(value=Field(value, "person", "heard by a person")) if beyond else None


def _place(row: Row) -> tuple[Any, ...]:
    return row.place.source, row.place.span, row.place.line_index

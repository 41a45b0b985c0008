"""Rows that carry the name which a person has just put right in one: a name misheard once is often misheard each time."""
from collections.abc import Iterator, Mapping

from ...records.rows import FieldValue, Row
from ...store.codec import row_in
from ...store.search import as_match
from ...store.sessions import SessionStore
from .index import HEARD

NAMES = ("parameter", "axis", "clock", "subject", "station", "question", "card")
"""Fields that hold a name which other rows may share."""
MOST = 60


def renamed(row: Row, values: Mapping[str, FieldValue]) -> tuple[str, str, str] | None:
    """The first name that these values change: its field, what it was and what it becomes; None where they change none."""
    for field in NAMES:
        was, becomes = row.get(field), values.get(field)
        if isinstance(was, str) and was and isinstance(becomes, str) and becomes and was != becomes:
            return field, was, becomes
    return None


def namesakes(store: SessionStore, row: Row, field: str) -> Iterator[Row]:
    """Other rows of the kind whose field has the same value, that stand and that nobody has heard, at most MOST.

    A name that was carried to a row, and not said in it, is shared only with rows to which it was carried too, up to one that says it.
    """
    was = str(row.get(field))
    found = store.db.all('SELECT c."row" FROM current c JOIN row_words w ON w.rowid = c.number WHERE row_words MATCH ? AND c.kind = ? AND c.state = ? '
                         'AND c.certainty <> ? AND c.number <> ? ORDER BY c.start_s, c.number LIMIT 2000',
                         (as_match(f'"{was}"'), row.kind, "standing", HEARD, row.number))
    rows = [other for item in found if (other := row_in(item["row"])).get(field) == was]
    spoken = [other for other in rows if other.fields[field].origin == "spoken"]
    if row.fields[field].origin == "spoken":
        yield from spoken[:MOST]
        return
    yield from [other for other in rows if other.fields[field].origin != "spoken" and not _said_between(spoken, row, other)][:MOST]


def _said_between(spoken: list[Row], one: Row, other: Row) -> bool:
    if one.turn is None or other.turn is None:
        return False
    low, high = sorted((one.turn, other.turn))
    return any(item.turn is not None and low < item.turn < high for item in spoken)

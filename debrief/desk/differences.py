"""What one pass found otherwise than another, row by row, as people read it."""
from collections.abc import Iterator

from ..errors import InputError
from ..records.rows import CERTAINTIES, Row
from ..store.sessions import Difference, SessionStore
from .row_text import line_of, one_line, shown


def difference_lines(store: SessionStore, old: int | None = None, new: int | None = None) -> Iterator[str]:
    """The last two finished passes when none is named. Raises InputError when there is only one."""
    finished = [item.number for item in store.passes() if item.finished_utc]
    if old is None or new is None:
        if len(finished) < 2:
            raise InputError("there is only one pass, so nothing to hold it against", todo="run again after a change of session file or lexicon")
        old, new = finished[-2], finished[-1]
    found = store.difference(old, new)
    yield from change_lines(found)


def change_lines(found: Difference) -> Iterator[str]:
    """New rows, rows that are gone, changed ones with what they said before, and those that are surer or less sure; where a person decided,
    that this stays."""
    def stays(row: Row) -> str:
        return "  (a person decided this row: that stays)" if row.number in found.edited else ""

    for title, rows in (("new", found.new), ("gone", found.gone)):
        for row in rows:
            yield f"{title:<8}{line_of(row)}{stays(row)}"
    for before, after in found.changed:
        yield f"changed {line_of(after)}{stays(after)}"
        yield one_line(f"was: {'; '.join(_fields_changed(before, after))}")
    for before, after in found.sureness:
        yield f"{'surer' if CERTAINTIES.index(after.certainty) < CERTAINTIES.index(before.certainty) else 'less sure':<10}{line_of(after)}{stays(after)}"
        yield one_line(f"was: {before.certainty}")
    yield (f"{len(found.new)} new, {len(found.gone)} gone, {len(found.changed)} changed"
           + (f", {len(found.sureness)} surer or less sure" if found.sureness else ""))


def _fields_changed(before: Row, after: Row) -> Iterator[str]:
    for name in {**before.fields, **after.fields}:
        one, other = before.get(name), after.get(name)
        if one != other:
            yield f"{name} {shown(one) or 'empty'}"
    if before.certainty != after.certainty:
        yield before.certainty

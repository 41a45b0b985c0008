"""What a person saw before an edit from the command line: nothing is changed on a view that somebody else has made stale."""
from collections.abc import Iterator

from ..errors import ChangedMeanwhile
from ..store import edits
from ..store.database import Database
from .row_text import one_line


def as_seen(db: Database, number: int, who: str, seen: int | None) -> edits.Standing:
    """The row as it stands, when that is what the person saw.

    seen: the revision that they looked at; without one, a row that another person's standing edit has touched is refused, since the
    tables and the sheet on disk may be older than that edit. Raises ChangedMeanwhile, and InputError for a number that no row has.
    """
    now = edits.standing(db, number)
    if seen is not None:
        if seen != now.revision:
            raise ChangedMeanwhile(f"row {number} was changed since you looked: its revision is {now.revision}, not {seen}", str(db.path),
                                   "`debrief row` shows it as it is now; then decide")
        return now
    other = next((deed for deed in edits.deeds(db, number) if not deed.undone and deed.who != who.strip()), None)
    if other is not None:
        raise ChangedMeanwhile(f"row {number} stands as {one_line(other.who)} left it ({other.action}, {other.at_utc})", str(db.path),
                               f"`debrief row` shows it; if your edit still holds, give it again with --seen {now.revision}")
    return now


def history_lines(db: Database, number: int) -> Iterator[str]:
    """The revision that --seen takes, then every deed on the row, the latest first, each with the number that undo --deed takes."""
    yield f"revision {edits.standing(db, number).revision}"
    for deed in edits.deeds(db, number):
        yield one_line(f"deed {deed.deed}, {deed.at_utc} {deed.who}: {deed.action}{' (undone)' if deed.undone else ''} {deed.note}")

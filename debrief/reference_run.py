"""The rows of the run that a session is held against, where the session file names a folder that a run wrote."""
from pathlib import Path

from .records.rows import Row
from .store.sessions import SessionStore

STORE_FILE = "debrief.sqlite"


def reference_rows(named: str | None, beside: Path) -> tuple[Row, ...]:
    """Rows of the run in the folder `named`, taken from the session file's folder; none where it is words alone ("yesterday's run").

    Raises StoreError where the folder's store cannot be read.
    """
    if not named or not _holds_a_run(beside, named):
        return ()
    with SessionStore.open(beside / named, read_only=True) as store:
        return tuple(store.rows())


def _holds_a_run(beside: Path, named: str) -> bool:
    try:
        return (beside / named / STORE_FILE).is_file()
    except (OSError, ValueError):  # words too long, or with signs that no path has
        return False

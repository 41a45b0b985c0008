"""Which store a person means, and opening it: the folder that a run wrote, or the store file in it. Every refusal says what to give."""
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ..errors import StoreError
from .codec import BREAKS, never_written
from .database import FILE_NAME, store_file
from .sessions import SessionStore

_GIVE = "give the folder that `debrief run` wrote (its --out), or the store file in it"


@contextmanager
def as_written(path: Path) -> Iterator[None]:
    """Around reading what a stranger may have written: values that this program never writes become a StoreError, whatever they break."""
    try:
        yield
    except BREAKS as error:
        raise never_written(error, str(path)) from error


def find_store(given: Path) -> Path:
    """The store file for a path. Raises StoreError where there is none."""
    try:
        is_folder, there = given.is_dir(), given.exists()
    except OSError as error:
        raise StoreError(f"cannot be reached: {error.strerror}", str(given),
                         "check the drive and your permission on the folder") from error
    if not there:
        raise StoreError("no such folder or file", str(given), _GIVE)
    file = store_file(given)
    if is_folder and not file.is_file():
        if next(given.glob("*.toml"), None):
            raise StoreError("this folder holds a session file and no results", str(given),
                             f"run `debrief run {given} --out DIR` and give DIR")
        raise StoreError(f"no session store ({FILE_NAME}) in this folder", str(given), _GIVE)
    if file.is_file() and file.stat().st_size == 0:
        raise StoreError("not a session store: the file is empty", str(file), _GIVE)
    return file


def open_to_change(given: Path) -> SessionStore:
    """The store, for edits. Raises StoreError."""
    return SessionStore.open(find_store(given))


def open_to_read(given: Path) -> SessionStore:
    """The store, for reading; one of an older version is brought up to date first where it may be written. Raises StoreError."""
    file = find_store(given)
    writable = os.access(file, os.W_OK) and os.access(file.parent, os.W_OK)
    return SessionStore.open(file, read_only=not writable)

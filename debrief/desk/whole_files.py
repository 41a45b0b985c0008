"""Files that are whole or not there: written beside their place and moved into it at once.

Who is killed while writing leaves a part behind; `sweep` takes away such parts, and only those that nobody is writing any more. What
libraries write on the way lies in a `scratch` folder beside the result, never in the system's: after a kill it would stay there, words
and all, where neither a later run nor erasing looks.
"""
import os
import re
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import chain
from pathlib import Path

from ..errors import StoreError
from ..store.locks import hold

_PARTIAL = re.compile(r"^\..+-[0-9a-f]{8}\.partial$")
_TODO = "check the folder's permissions and the room on the disk"


@contextmanager
def whole(path: Path) -> Iterator[Path]:
    """A path to write to, which becomes `path` when everything went well. Raises StoreError for what the disk refuses."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        partial = path.with_name(f".{path.name}-{secrets.token_hex(4)}.partial")
        handle = os.open(partial, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o666)
    except OSError as error:
        raise StoreError(f"cannot be written: {error.strerror}", str(path), _TODO) from error
    try:
        if os.name == "posix":
            hold(handle)
        else:
            os.close(handle)  # an open file could not be moved there
        yield partial
        if os.name == "posix":
            os.fsync(handle)
        partial.replace(path)
    except OSError as error:
        raise StoreError(f"cannot be written: {error.strerror}", str(path), _TODO) from error
    finally:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
        if os.name == "posix":
            os.close(handle)


def write_whole(path: Path, content: str | bytes) -> None:
    """The content as a file, whole or not at all."""
    with whole(path) as partial:
        partial.write_bytes(content.encode("utf-8", "replace") if isinstance(content, str) else content)


def write_pieces(path: Path, pieces: Iterator[str]) -> None:
    """The same for text that is made in pieces, so that it is never whole in memory. What goes wrong while the first is made is told as it is."""
    first = next(pieces)
    with whole(path) as partial, partial.open("wb") as out:
        for piece in chain((first,), pieces):
            out.write(piece.encode("utf-8", "replace"))


@contextmanager
def scratch(folder: Path, name: str) -> Iterator[Path]:
    """A folder in `folder` that nobody else may read, taken away at the end. Raises StoreError for what the disk refuses."""
    path = folder / f".{name}-{secrets.token_hex(4)}.partial"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.mkdir(mode=0o700)
        handle = os.open(path, os.O_RDONLY) if os.name == "posix" else None
    except OSError as error:
        raise StoreError(f"cannot be written: {error.strerror}", str(folder), _TODO) from error
    try:
        if handle is not None:
            hold(handle)
        yield path
    except OSError as error:
        raise StoreError(f"cannot be written: {error.strerror}", str(folder), _TODO) from error
    finally:
        shutil.rmtree(path, ignore_errors=True)
        if handle is not None:
            os.close(handle)


def sweep(folder: Path) -> None:
    """Takes away what writers that were killed left in a folder; parts that somebody is writing now stay."""
    for path in folder.iterdir() if folder.is_dir() else ():
        if _PARTIAL.match(path.name) and not path.is_symlink():
            with suppress(OSError):
                _sweep_one(path)


def _sweep_one(path: Path) -> None:
    is_folder = path.is_dir()
    handle = os.open(path, os.O_RDONLY if is_folder else os.O_RDWR)
    try:
        if hold(handle):
            shutil.rmtree(path) if is_folder else path.unlink()
    finally:
        os.close(handle)

"""Files that one process holds at a time; the operating system lets go when the holder dies, however it dies."""
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ..errors import StoreError
from .database import store_file

if sys.platform == "win32":
    import msvcrt

    def hold(handle: int) -> bool:
        """Takes the lock of an open file; False when another process (or another opening of the file) has it."""
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def hold(handle: int) -> bool:
        """Takes the lock of an open file; False when another process (or another opening of the file) has it."""
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


@contextmanager
def sole_run(path: Path) -> Iterator[None]:
    """Holds the right to run on this store, with a small file beside it that goes at the end; another run is refused at once.

    Makes the folder where there is none. Raises StoreError: locked by another run, no permission, no room.
    """
    file = store_file(path)
    beside = file.with_name(file.name + "-run")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        handle = _held(beside, file)
    except OSError as error:
        raise StoreError(f"cannot be written: {error.strerror}", str(file.parent), "check the folder's permissions and the room on the disk") from error
    try:
        yield
    finally:
        with suppress(OSError):  # a folder that vanished meanwhile has nothing to take away
            beside.unlink()
        os.close(handle)


def _held(beside: Path, file: Path) -> int:
    """An open handle that holds the file; one that was taken away by its last holder just now is made anew."""
    while True:
        handle = os.open(beside, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o666)  # a link would have its target emptied
        if not hold(handle):
            who = os.read(handle, 40).decode("ascii", "replace").strip()
            os.close(handle)
            raise StoreError(f"the store is locked by another run{f' (process {who})' if who.isdigit() else ''}", str(file),
                             "wait for the other run to end, or end it, and try again")
        if _is_same(handle, beside):
            os.ftruncate(handle, 0)
            os.write(handle, f"{os.getpid()}\n".encode())
            return handle
        os.close(handle)


def _is_same(handle: int, path: Path) -> bool:
    try:
        return os.fstat(handle).st_ino == path.stat().st_ino
    except FileNotFoundError:
        return False

"""Is a file the recording that was heard? Asked before any sound of it is played, cut out or handed on.

A store tells paths, and it may come from a stranger or from last year: what lies at such a path now may be another recording, whose sound
would speak for rows that it never held, or somebody's private one. The digest of its bytes decides, never its name or its length.
"""
from functools import lru_cache
from pathlib import Path

from ..errors import RecordingError
from .models import sha256_of


def digest_of(path: Path) -> str:
    """sha256 of the file's bytes; read once in a process as long as the file stays as it is. Raises OSError."""
    found = path.stat()
    return _digest(path, (found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns, found.st_ctime_ns))


@lru_cache(maxsize=1024)
def _digest(path: Path, _state: tuple[int, ...]) -> str:
    return sha256_of(path)


def check_heard(path: Path, sha256: str | None) -> None:
    """RecordingError where the file is not the one that has the digest, where it cannot be read, or where no digest is known."""
    if not sha256:
        raise RecordingError("the store does not say which recording was heard: it has no sha256 of it", str(path), "run the session again")
    try:
        same = path.is_file() and digest_of(path) == sha256
    except OSError as error:
        raise RecordingError(f"the file cannot be read: {error.strerror or error}", str(path), "check its permissions and its drive") from error
    if not same:
        raise RecordingError("this is not the recording that was heard: its sha256 differs", str(path), "find the original")

"""Files that are whole or not there: written beside their place and moved into it at once."""
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ..errors import StoreError


@contextmanager
def whole(path: Path) -> Iterator[Path]:
    """A path to write to, which becomes `path` when everything went well. Raises StoreError for what the disk refuses."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
        os.close(handle)
    except OSError as error:
        raise StoreError(f"cannot be written: {error.strerror}", str(path), "check the folder's permissions and the room on the disk") from error
    partial = Path(name)
    try:
        yield partial
        partial.chmod(0o644)
        partial.replace(path)
    except OSError as error:
        raise StoreError(f"cannot be written: {error.strerror}", str(path), "check the folder's permissions and the room on the disk") from error
    finally:
        partial.unlink(missing_ok=True)


def write_whole(path: Path, content: str | bytes) -> None:
    """The content as a file, whole or not at all."""
    with whole(path) as partial:
        partial.write_bytes(content.encode("utf-8", "replace") if isinstance(content, str) else content)

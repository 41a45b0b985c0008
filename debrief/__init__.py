"""debrief: from the recorded voice loops of a crewed test to rows that carry their sound and say how sure they are."""
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .desk.frames import SessionFrames

__version__ = "0.1.0"
__all__ = ["__version__", "read_session"]


def read_session(path: str | Path) -> "SessionFrames":
    """The tables of a session's store as typed pandas frames: `read_session("out").readouts`. Raises StoreError."""
    from .desk.frames import read_session as read  # noqa: PLC0415 (pandas is loaded only when it is asked for)

    return read(path)

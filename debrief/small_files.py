"""Files that people write by hand, read whole: session files, campaigns, cards, lexicon packs. What is no such file is refused, never waited for."""
import stat
import tomllib
from pathlib import Path
from typing import Any


def check_small(path: Path, most_bytes: int) -> None:
    """Raises OSError, and ValueError for what is larger or no plain file (a pipe, a device)."""
    found = path.stat()
    if not stat.S_ISREG(found.st_mode) and not stat.S_ISDIR(found.st_mode):  # a folder says so itself when it is opened
        raise ValueError("not a plain file")
    if found.st_size > most_bytes:
        raise ValueError(f"larger than {most_bytes // 1_000_000} MB")


def read_small(path: Path, most_bytes: int) -> str:
    """UTF-8 text of a plain file. Raises as `check_small` does, and UnicodeDecodeError."""
    check_small(path, most_bytes)
    return path.read_text(encoding="utf-8-sig")


def parse_toml(text: str) -> dict[str, Any]:
    """Raises tomllib.TOMLDecodeError for everything that no TOML file of people holds, and for what Python's parser breaks at."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        raise
    except RecursionError:
        raise tomllib.TOMLDecodeError("lists or tables lie too deep in each other") from None
    except ValueError:  # more digits than Python reads
        raise tomllib.TOMLDecodeError("a number of absurd length") from None

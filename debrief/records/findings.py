"""What checks have to say."""
from dataclasses import dataclass

from .rows import Part


@dataclass(frozen=True, slots=True)
class CheckResult:
    """check: the check's name; says: one sentence for a person; rows: numbers of the rows it is about; look: sound to hear."""

    check: str
    says: str
    rows: tuple[int, ...] = ()
    look: tuple[Part, ...] = ()
    serious: bool = False


@dataclass(frozen=True, slots=True)
class ListeningItem:
    """One entry of the listening list: seconds of listening it costs and errors it is expected to settle."""

    part: Part
    seconds: float
    expected_errors: float
    why: tuple[str, ...]
    row: int | None = None

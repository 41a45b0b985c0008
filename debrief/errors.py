"""Every error a user can cause or meet, in one tree.

    DebriefError                what happened, where, what to do; the command line shows it and exits with 2
    +-- InputError              something the user gave cannot be used
    |   +-- RecordingError      a recording: missing, not sound, damaged, an address instead of a file
    |   +-- SessionFileError    a session file; carries all faults of the file at once
    |   +-- TranscriptError     a saved transcript: line and likely mistake
    |   +-- LexiconError        lexicon packs; carries all faults of all files at once
    |   +-- ModelError          weights: missing, unreadable, wrong digest
    +-- StoreError              the session store: newer version, damaged, locked, disk full, no permission
    |   +-- ChangedMeanwhile    somebody else changed the row since the person looked
    +-- Interrupted             the user stopped the work; what was done is kept
"""
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a file: where (dotted path and 1-based line, if known), what, and a hint."""

    what: str
    path: str = ""
    line: int | None = None
    hint: str = ""
    warning: bool = False

    def __str__(self) -> str:
        place = " ".join(part for part in (f"line {self.line}" if self.line else "", self.path) if part)
        text = f"{place}: {self.what}" if place else self.what
        return f"{text} ({self.hint})" if self.hint else text


class DebriefError(Exception):
    """what: one sentence; where: file, row or second; todo: what the user can do about it."""

    exit_code = 2

    def __init__(self, what: str, where: str = "", todo: str = "", faults: Sequence[Fault] = ()) -> None:
        super().__init__(what)
        self.what, self.where, self.todo, self.faults = what, where, todo, tuple(faults)

    def __str__(self) -> str:
        head = f"{self.where}: {self.what}" if self.where else self.what
        lines = [head, *(f"  {fault}" for fault in self.faults)]
        if self.todo:
            lines.append(f"  What to do: {self.todo}")
        return "\n".join(lines)


class InputError(DebriefError):
    """Something the user gave cannot be used."""


class RecordingError(InputError):
    """A recording cannot be read."""


class SessionFileError(InputError):
    """A session file is wrong; faults holds all of it."""


class TranscriptError(InputError):
    """A saved transcript cannot be read."""


class LexiconError(InputError):
    """A lexicon pack is wrong; faults holds all of it."""


class ModelError(InputError):
    """The recogniser's weights cannot be used."""


class StoreError(DebriefError):
    """The session store cannot be used."""


class ChangedMeanwhile(StoreError):
    """The row is not what the person saw any more; nothing was written."""


class Interrupted(DebriefError):
    """The user stopped the work; everything finished so far is in the store."""

    exit_code = 130

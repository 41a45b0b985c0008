"""What hearing hands on: recordings, what became of every second, and segments of words."""
from dataclasses import dataclass, field
from typing import Literal

from ..timebase import RecordingClock, Span

Account = Literal["speech", "no speech detected", "unreadable", "excluded"]


@dataclass(frozen=True, order=True, slots=True)
class Source:
    """One channel of one recording. recording: short id ('r1'), channel: counted from 0."""

    recording: str
    channel: int = 0


@dataclass(frozen=True, slots=True)
class Recording:
    """A sound file as found. sha256 of its bytes; duration in samples at 16 kHz; loops by channel ('' = several, mixed).

    kept_out: (channel, span) whose sound nobody may hear: excluded before it was heard, or erased since.
    """

    recording: str
    path: str
    sha256: str
    duration: int
    rate_hz: int
    channels: int
    loops: tuple[str, ...] = ()
    clock: RecordingClock = field(default_factory=RecordingClock)
    notes: tuple[str, ...] = ()
    kept_out: tuple[tuple[int, Span], ...] = ()


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of a channel and what it is held as; the stretches of a channel cover every sample once."""

    source: Source
    span: Span
    held_as: Account
    why: str = ""


@dataclass(frozen=True, slots=True)
class Word:
    """A word as the recogniser wrote it (punctuation kept); no span or probability where the source had none."""

    text: str
    span: Span | None = None
    probability: float | None = None


@dataclass(frozen=True, slots=True)
class Segment:
    """What the recogniser (or a saved transcript) cut.

    segment: id, unique and stable within a pass ('r1.0.000012'); line_index: line of the saved transcript the scorer counts,
    only where its lines carry speakers and no word times; set_aside: why it makes no talk ('' = used).
    """

    segment: str
    words: tuple[Word, ...]
    source: Source | None = None
    span: Span | None = None
    loop: str | None = None
    speaker: str | None = None
    line_index: int | None = None
    mean_log_probability: float | None = None
    no_speech_probability: float | None = None
    compression_ratio: float | None = None
    voice: str | None = None
    set_aside: str = ""

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)

"""Spans of sound and the clocks they are told in.

Conventions: a Span counts samples at HEARING_RATE_HZ on its recording's *own* clock, half-open, whatever rate the file has.
Session time is seconds on the first recording's clock; a RecordingClock turns one into the other:
file second = (session second - offset_s) * rate.
"""
import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import isfinite

HEARING_RATE_HZ = 16_000
YEARS = range(1850, 3000)
"""Of wall clocks: from the first machine that wrote sound down. What is reckoned from them stays a date."""
_CLOCK_TEXT = re.compile(r"(?:(\d{1,12}):)?(\d{1,2}):(\d{2}(?:\.\d+)?)")


@dataclass(frozen=True, order=True, slots=True)
class Span:
    """Half-open [start, end) in samples at 16 kHz; sorts by start, then end. Reversed or negative spans are refused."""

    start: int
    end: int

    def __post_init__(self) -> None:
        if not 0 <= self.start <= self.end:
            raise ValueError(f"span {self.start} to {self.end}: start and end must be samples >= 0, in order "
                             "(are they seconds, or swapped?)")

    @classmethod
    def of_seconds(cls, start_s: float, end_s: float) -> "Span":
        """The span from start_s to end_s (seconds on the recording's clock), rounded to whole samples."""
        if not (isfinite(start_s) and isfinite(end_s)):
            raise ValueError(f"span {start_s} to {end_s} s: times must be finite numbers")
        return cls(round(start_s * HEARING_RATE_HZ), round(end_s * HEARING_RATE_HZ))

    @property
    def start_s(self) -> float:
        return self.start / HEARING_RATE_HZ

    @property
    def end_s(self) -> float:
        return self.end / HEARING_RATE_HZ

    @property
    def duration_s(self) -> float:
        return (self.end - self.start) / HEARING_RATE_HZ

    def overlap(self, other: "Span") -> int:
        """Samples shared with the other span."""
        return max(0, min(self.end, other.end) - max(self.start, other.start))

    def hull(self, other: "Span") -> "Span":
        """The smallest span that holds both."""
        return Span(min(self.start, other.start), max(self.end, other.end))


@dataclass(frozen=True, slots=True)
class RecordingClock:
    """One recording's clock against session time, and against the wall clock where a start is known.

    offset_s: session second at which the file begins; rate: file seconds per session second;
    start: wall clock time of the file's first sample (aware), start_uncertainty_s its half-width.
    """

    offset_s: float = 0.0
    rate: float = 1.0
    start: datetime | None = None
    start_uncertainty_s: float | None = None

    def to_session_s(self, file_s: float) -> float:
        return self.offset_s + file_s / self.rate

    def to_file_s(self, session_s: float) -> float:
        return (session_s - self.offset_s) * self.rate

    def to_wall(self, file_s: float) -> datetime | None:
        return None if self.start is None else self.start + timedelta(seconds=file_s / self.rate)


def hms(seconds: float) -> str:
    """Seconds as -h:mm:ss, whole seconds rounded down towards minus infinity; 369510 -> '102:38:30'."""
    whole = int(seconds // 1)
    sign, whole = ("-", -whole) if whole < 0 else ("", whole)
    return f"{sign}{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def clock_seconds(text: str) -> float | None:
    """'h:mm:ss' or 'm:ss' as seconds; None for text of another form, and for hours beyond all sense."""
    found = _CLOCK_TEXT.fullmatch(text.strip())
    if not found:
        return None
    hours, minutes, seconds = found.groups()
    return int(hours or 0) * 3600 + int(minutes) * 60 + float(seconds)

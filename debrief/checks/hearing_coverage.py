"""How much of a stretch of session time could be read: what "not said" has to be held against.

Seconds of session time, of all channels together: speech that was read, and sound that held something and could not be read. What is
excluded on request or held no speech counts as neither. A saved transcript has no account of its sound: then nothing is known.
"""
from dataclasses import dataclass

from .review import Review

READ, UNREADABLE = "speech", "unreadable"


@dataclass(frozen=True, slots=True)
class HearingCoverage:
    """read_s: speech that was read; unread_s: sound that could not be."""

    read_s: float
    unread_s: float

    @property
    def share(self) -> float:
        """Share of what was said that could be read; 1 where nothing was said."""
        whole = self.read_s + self.unread_s
        return self.read_s / whole if whole else 1.0

    def __str__(self) -> str:
        return f"of {self.read_s + self.unread_s:.0f} s of talk then, {self.read_s:.0f} s could be read"


def hearing_coverage(review: Review, start_s: float, end_s: float) -> HearingCoverage | None:
    """The coverage of [start_s, end_s), session seconds; None where no account of the sound is known."""
    if not review.stretches:
        return None
    seconds = {READ: 0.0, UNREADABLE: 0.0}
    for stretch in review.stretches:
        if stretch.held_as in seconds:
            clock = review.clocks.get(stretch.source.recording)
            first, last = stretch.span.start_s, stretch.span.end_s
            if clock is not None:
                first, last = clock.to_session_s(first), clock.to_session_s(last)
            seconds[stretch.held_as] += max(0.0, min(last, end_s) - max(first, start_s))
    return HearingCoverage(seconds[READ], seconds[UNREADABLE])

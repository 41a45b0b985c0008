"""Windows of at most 30 s for the recogniser, cut from the recording's speech spans alone, never from text.

Stretches of speech are packed in order; a long pause between two of one window is closed to CLOSED_S, and every time is mapped back
exactly. The list of windows is a pure function of the account of the channel, so that work can stop and go on.
"""
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..records.sound import Source, Stretch
from ..timebase import HEARING_RATE_HZ, Span
from .recogniser import Sound
from .recording import read_span

LONGEST_S = 28.0
CLOSED_S = 0.8
FAR_S = 20.0
"""Stretches further apart than this begin a new window: what one holds says nothing of the other."""


@dataclass(frozen=True, slots=True)
class Window:
    """index counts within the channel; pieces: spans of the recording that are laid end to end, silence of CLOSED_S between."""

    source: Source
    index: int
    pieces: tuple[Span, ...]

    @property
    def span(self) -> Span:
        return self.pieces[0].hull(self.pieces[-1])

    def sound(self, path: Path) -> Sound:
        """The samples to be heard, 16 kHz mono float32."""
        gap = np.zeros(round(CLOSED_S * HEARING_RATE_HZ), np.float32)
        parts: list[Sound] = []
        for piece in self.pieces:
            parts += [gap] if parts else []
            parts.append(read_span(path, self.source.channel, piece))
        return np.concatenate(parts)

    def sample_of(self, second: float) -> int:
        """The recording's sample at a second of the window; within a closed pause, the nearer edge."""
        at = round(max(0.0, second) * HEARING_RATE_HZ)
        gap = round(CLOSED_S * HEARING_RATE_HZ)
        for piece in self.pieces:
            length = piece.end - piece.start
            if at <= length + gap // 2 or piece is self.pieces[-1]:
                return piece.start + max(0, min(at, length))
            at -= length + gap
        raise AssertionError("a window has pieces")


def windows_of(account: Sequence[Stretch]) -> Iterator[Window]:
    """The windows of one channel."""
    pieces: list[Span] = []
    index = 0
    for stretch in account:
        if stretch.held_as != "speech":
            continue
        if pieces and not _fits(pieces, stretch.span):
            yield Window(stretch.source, index, tuple(pieces))
            pieces, index = [], index + 1
        pieces.append(stretch.span)
    if pieces:
        yield Window(account[0].source, index, tuple(pieces))


def _fits(pieces: Sequence[Span], span: Span) -> bool:
    used = sum(piece.duration_s for piece in pieces) + CLOSED_S * len(pieces)
    return used + span.duration_s <= LONGEST_S and span.start_s - pieces[-1].end_s <= FAR_S

"""Windows of at most 30 s, cut from a recording's speech stretches alone: the same recording and settings give the same windows.

Long pauses between stretches are closed; each window knows the pieces it was made from, so every time maps back exactly.
"""
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ..records.sound import Recording, Source, Stretch
from ..timebase import HEARING_RATE_HZ, Span
from .recogniser import Sound
from .recording import read_span


@dataclass(frozen=True, slots=True)
class WindowSettings:
    """longest_s: a window's sound with its pauses; filled_s: up to this length further stretches are taken in.

    Twenty seconds and a little hold several calls, so that each helps to hear the others; longer windows lose more words than they mend.
    joined_s: pauses up to this long stay as they are, longer ones are closed. apart_s: stretches with a longer pause between them do not
    share a window, so that work on a sparse loop can be seen to go on.
    """

    longest_s: float = 29.0
    filled_s: float = 21.0
    joined_s: float = 1.0
    apart_s: float = 1800.0


@dataclass(frozen=True, slots=True)
class Window:
    """One window of a channel. index counts from 0 in time order; pieces: spans of the recording, in order, without overlap."""

    index: int
    source: Source
    pieces: tuple[Span, ...]

    @property
    def samples(self) -> int:
        return sum(piece.end - piece.start for piece in self.pieces)

    @property
    def span(self) -> Span:
        """From its first to its last sample in the recording, closed pauses included."""
        return self.pieces[0].hull(self.pieces[-1])

    def place(self, start_s: float, end_s: float) -> Span:
        """The recording's span of window seconds [start_s, end_s). A span over a closed pause keeps its longer side alone."""
        first, last = round(start_s * HEARING_RATE_HZ), round(end_s * HEARING_RATE_HZ)
        best, shared, offset = self.pieces[-1], -1, 0
        begin = end = self.pieces[-1].end
        for piece in self.pieces:
            low, high = max(first - offset, 0), min(last - offset, piece.end - piece.start)
            if high - low > shared:
                best, shared = piece, high - low
                begin, end = piece.start + min(low, piece.end - piece.start), piece.start + max(low, high)
            offset += piece.end - piece.start
        return Span(min(begin, best.end), min(max(begin, end), best.end))


def cut_windows(stretches: Iterable[Stretch], settings: WindowSettings = WindowSettings()) -> tuple[Window, ...]:
    """Windows over the speech stretches of one channel (others are passed over), in time order."""
    windows: list[tuple[Source, list[Span]]] = []
    longest = round(settings.longest_s * HEARING_RATE_HZ)
    for source, span in _spans(stretches, longest):
        if not windows or not _fits(windows[-1][1], span, settings):
            windows.append((source, [span]))
        elif span.start - windows[-1][1][-1].end <= settings.joined_s * HEARING_RATE_HZ:
            windows[-1][1][-1] = windows[-1][1][-1].hull(span)
        else:
            windows[-1][1].append(span)
    return tuple(Window(index, source, tuple(pieces)) for index, (source, pieces) in enumerate(windows))


def window_sound(recording: Recording, window: Window) -> Sound:
    """The samples of a window, its pauses closed (16 kHz mono float32). The same window gives the same samples."""
    return np.concatenate([read_span(Path(recording.path), window.source.channel, piece) for piece in window.pieces])


def _spans(stretches: Iterable[Stretch], longest: int) -> Iterator[tuple[Source, Span]]:
    for stretch in stretches:
        if stretch.held_as == "speech":
            for start in range(stretch.span.start, stretch.span.end, longest):
                yield stretch.source, Span(start, min(start + longest, stretch.span.end))


def _fits(pieces: list[Span], span: Span, settings: WindowSettings) -> bool:
    filled = round(settings.filled_s * HEARING_RATE_HZ)
    pause = span.start - pieces[-1].end
    joined = pause if pause <= settings.joined_s * HEARING_RATE_HZ else 0
    have = sum(piece.end - piece.start for piece in pieces)
    return have + joined + span.end - span.start <= filled and pause <= settings.apart_s * HEARING_RATE_HZ

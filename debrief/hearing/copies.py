"""The same sound on two recordings: where it lies on each, and what that says of their clocks.

A second microphone or a loudspeaker puts a sentence on another file too. The pattern of its levels in narrow bands, 100 times a
second, finds it there; several such places give the offset and the rate of one recorder against the other. Places that fit no
common line are chance and are left out.
"""
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..records.sound import Recording, Source, Stretch
from ..timebase import HEARING_RATE_HZ, RecordingClock, Span
from .recogniser import Sound
from .recording import read_span

_HOP = 160
_FRAME = 512
_BAND_EDGES_HZ = (300, 450, 600, 800, 1000, 1250, 1500, 1800, 2150, 2550, 3000, 3400)
Pattern = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class CopySettings:
    """likeness: of two patterns (correlation), at least; within_s: how far off a stated clock may be beyond its own uncertainty.

    most: how many stretches are looked for; shortest_s, longest_s: of a stretch that is; fits_s: of a place to the common line;
    most_drift: of one recorder against the other; needed: places on the line; most_delay_s: between copies of one sound by different ways.
    """

    likeness: float = 0.35
    within_s: float = 3.0
    most: int = 300
    shortest_s: float = 0.8
    longest_s: float = 4.0
    fits_s: float = 0.008
    most_drift: float = 0.0015
    needed: int = 3
    most_delay_s: float = 0.6


@dataclass(frozen=True, slots=True)
class SharedPlace:
    """Sound of file second other_s on one recording is also at session second first_s on another, with this likeness (0 to 1).

    copied_on_first: the weaker, flatter one of the two, so the copy, is on the first.
    """

    first_s: float
    other_s: float
    likeness: float
    copied_on_first: bool = True


def refine_clocks(recordings: Sequence[Recording], accounts: Mapping[Source, Sequence[Stretch]],
                  settings: CopySettings = CopySettings()) -> list[Recording]:
    """The recordings with offset and rate of every later one taken from sound it shares with earlier ones, where it shares enough.

    The first recording's clock is the session's and stays. A note on each recording says what was found, or that nothing was.
    """
    placed: list[Recording] = []
    for recording in recordings:
        places = [place for earlier in placed for place in shared_places(earlier, recording, accounts, settings)]
        clock = fit_clock(places, recording.clock, settings) if placed else None
        placed.append(recording if clock is None else replace(recording, clock=clock, notes=(*recording.notes, _note(clock))))
    return placed


def _note(clock: RecordingClock) -> str:
    return f"clock from sound it shares with another recording: begins at {clock.offset_s:.2f} s, rate {clock.rate:.7f}"


def shared_places(first: Recording, other: Recording, accounts: Mapping[Source, Sequence[Stretch]],
                  settings: CopySettings = CopySettings()) -> list[SharedPlace]:
    """Where speech of `other` is found again on `first`, searched around where their stated clocks put it."""
    within_s = settings.within_s + (other.clock.start_uncertainty_s or 0.0) + (first.clock.start_uncertainty_s or 0.0)
    found = []
    for source, span in _chosen(other, accounts, settings):
        pattern = level_pattern(read_span(Path(other.path), source.channel, span))
        centre_s = first.clock.to_file_s(other.clock.to_session_s(span.start_s))
        search = Span.of_seconds(max(0.0, centre_s - within_s), max(0.0, centre_s + within_s + span.duration_s))
        best = max((_best_place(pattern, first, channel, search) for channel in range(first.channels)), default=(0.0, 0.0, True))
        if best[0] >= settings.likeness:
            found.append(SharedPlace(first.clock.to_session_s(best[1]), span.start_s, best[0], best[2]))
    return found


def fit_clock(places: Sequence[SharedPlace], stated: RecordingClock, settings: CopySettings = CopySettings()) -> RecordingClock | None:
    """Offset and rate on which most places agree; None where fewer than needed do. Ties go to the greater sum of likeness."""
    best: list[SharedPlace] = []
    for one, other in combinations(places, 2):
        if abs(one.other_s - other.other_s) < 20.0:
            continue
        slope = (other.first_s - one.first_s) / (other.other_s - one.other_s)
        if abs(slope - 1.0) <= settings.most_drift:
            agree = [place for place in places
                     if abs(one.first_s + slope * (place.other_s - one.other_s) - place.first_s) <= settings.fits_s]
            best = max(best, agree, key=lambda group: (len(group), sum(place.likeness for place in group)))
    if len(best) < settings.needed:
        return None
    slope, offset_s = np.polyfit([place.other_s for place in best], [place.first_s for place in best], 1,
                                 w=[place.likeness for place in best])
    return replace(stated, offset_s=_undelayed(places, float(slope), float(offset_s), settings), rate=float(1.0 / slope))


def _undelayed(places: Sequence[SharedPlace], slope: float, offset_s: float, settings: CopySettings) -> float:
    """The offset by those copies that come soonest after their origin.

    Copies come late, by different amounts (air, a loudspeaker, another receiver), and none comes early: of several lines with the same
    slope the earliest is nearest to the truth where the copies are on the first recording, the latest where they are on the other.
    """
    lines = []
    for place in places:
        middle = place.first_s - slope * place.other_s
        group = [other for other in places if abs(other.first_s - slope * other.other_s - middle) <= settings.fits_s]
        if len(group) >= 2 and abs(middle - offset_s) <= settings.most_delay_s:
            lines.append((float(np.mean([other.first_s - slope * other.other_s for other in group])),
                          sum(other.copied_on_first for other in group) * 2 >= len(group)))
    if not lines:
        return offset_s
    late = sum(copied for _, copied in lines) * 2 >= len(lines)
    return (min if late else max)(middle for middle, copied in lines if copied == late)


def level_pattern(sound: Sound) -> Pattern:
    """Levels in bands (decibels), shape (bands, frames), 100 frames a second."""
    if len(sound) < _FRAME:
        return np.zeros((len(_BAND_EDGES_HZ) - 1, 0))
    frames = np.lib.stride_tricks.sliding_window_view(sound, _FRAME)[::_HOP]
    power = np.abs(np.fft.rfft(frames * np.hanning(_FRAME), axis=1)) ** 2
    edges = np.searchsorted(np.fft.rfftfreq(_FRAME, 1 / HEARING_RATE_HZ), _BAND_EDGES_HZ)
    bands = np.add.reduceat(power, edges, axis=1)[:, :-1]
    return 10 * np.log10(bands.T + 1e-9)


def likeness(pattern: Pattern, other: Pattern) -> NDArray[np.float64]:
    """Correlation of a pattern with every place of a longer one, means of the bands taken off at each place."""
    length = pattern.shape[1]
    places = other.shape[1] - length + 1
    if length < 10 or places < 1:
        return np.zeros(0)
    centred = pattern - pattern.mean(axis=1, keepdims=True)
    shared = sum(np.correlate(line, mine, mode="valid") for line, mine in zip(other, centred, strict=True))
    sums = np.cumsum(np.pad(other, ((0, 0), (1, 0))), axis=1)
    squares = np.cumsum(np.pad(other ** 2, ((0, 0), (1, 0))), axis=1)
    spread = (squares[:, length:] - squares[:, :-length]) - (sums[:, length:] - sums[:, :-length]) ** 2 / length
    return np.asarray(shared) / np.sqrt(np.maximum((centred ** 2).sum() * spread.sum(axis=0), 1e-9))


def _best_place(pattern: Pattern, first: Recording, channel: int, search: Span) -> tuple[float, float, bool]:
    """(likeness, file second to a fraction of a frame, is it the copy?) of the best place of a pattern in a span of a channel."""
    there = level_pattern(read_span(Path(first.path), channel, search))
    curve = likeness(pattern, there)
    if not len(curve):
        return 0.0, 0.0, True
    top = int(np.argmax(curve))
    shift = 0.0
    if 0 < top < len(curve) - 1:
        left, middle, right = curve[top - 1:top + 2]
        bend = left - 2 * middle + right
        shift = 0.5 * (left - right) / bend if bend < 0 else 0.0
    flatter = there[:, top:top + pattern.shape[1]].std(axis=1).sum() < pattern.std(axis=1).sum()
    return float(curve[top]), float(search.start_s + (top + shift) * _HOP / HEARING_RATE_HZ), bool(flatter)


def _chosen(other: Recording, accounts: Mapping[Source, Sequence[Stretch]], settings: CopySettings) -> list[tuple[Source, Span]]:
    longest, shortest = (round(s * HEARING_RATE_HZ) for s in (settings.longest_s, settings.shortest_s))
    spans = []
    for source, stretches in sorted(accounts.items()):
        for stretch in stretches:
            if source.recording == other.recording and stretch.held_as == "speech":
                for start in range(stretch.span.start, stretch.span.end - shortest, longest):
                    spans.append((source, Span(start, min(start + longest, stretch.span.end))))
    return spans[::max(1, len(spans) // settings.most)]

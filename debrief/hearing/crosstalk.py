"""Crosstalk between channels of one file: the neighbour's talk, leaked in at the same instant and weaker.

Such a leak is a scaled copy: at lag 0 the channels are correlated, the leak is weaker than its origin, and what is left after taking
the copy off is no more than the channel's own noise. Own talk, however faint, leaves more than that, and is kept.
"""
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .frame_evidence import FRAME, Growing
from .recogniser import Sound

STEP_FRAMES = 4
_STEP = FRAME * STEP_FRAMES
_SMOOTH = np.ones(5) / 5
FARTHEST = 7
"""Only channels this near to each other in the file are compared, so that many channels stay affordable."""
Values = NDArray[np.float64]
_AT_ONCE = 100_000


@dataclass(frozen=True, slots=True)
class LeakSettings:
    """weaker_db: by how much a leak lies under its origin, at least; sure, possible: correlations; over_floor_db: what may remain.

    talk_over_floor_db: how far under a channel's talk its floor lies at least; dead_db: below it there is nothing at all.
    """

    weaker_db: float = 6.0
    sure: float = 0.7
    possible: float = 0.15
    over_floor_db: float = 3.0
    talk_over_floor_db: float = 10.0
    dead_db: float = -100.0


class LeakReader:
    """Takes blocks of the channels of one file in step; tells afterwards where a channel holds nothing but a neighbour's talk."""

    def __init__(self, channels: Sequence[int], wanted: Sequence[int] | None = None) -> None:
        self._channels = list(channels)
        asked = set(channels if wanted is None else wanted)
        self._pairs = [(one, other) for one in channels for other in channels
                       if one == other or (one < other <= one + FARTHEST and asked & {one, other})]
        self._sums = {pair: Growing() for pair in self._pairs}
        self._rest = np.zeros((len(self._channels), 0), np.float32)
        self._at = 0

    def feed(self, start: int, sounds: Mapping[int, Sound]) -> None:
        """The next samples of all channels, from sample start; what was skipped counts as silence."""
        skipped = max(0, start - self._at)
        data = np.stack([sounds[channel] for channel in self._channels])
        while skipped:
            step = min(skipped, 16_000 * 60)
            self._take(np.zeros((len(self._channels), step), np.float32))
            skipped -= step
        self._take(data[:, max(0, self._at - start):])

    def leaks(self, channel: int, settings: LeakSettings = LeakSettings()) -> NDArray[np.bool_]:
        """For every STEP_FRAMES frames: does the channel hold a neighbour's talk and nothing of its own?"""
        if len(self._rest[0]):
            self._take(np.zeros((len(self._channels), _STEP - self._rest.shape[1]), np.float32))
        own = self._smooth(channel, channel)
        floor = _floor(_db(own), settings)
        flags = np.zeros(len(own), bool)
        for other in self._channels:
            if other != channel and abs(other - channel) <= FARTHEST:
                theirs, shared = self._smooth(other, other), self._smooth(channel, other)
                for first in range(0, len(own), _AT_ONCE):  # in pieces, so that a day on many channels costs little memory
                    at = slice(first, first + _AT_ONCE)
                    flags[at] |= _leaked((own[at], theirs[at], shared[at]), floor, settings)
        return flags

    def _take(self, data: NDArray[np.float32]) -> None:
        self._at += data.shape[1]
        data = np.concatenate([self._rest, data], axis=1)
        whole = data.shape[1] // _STEP * _STEP
        self._rest = data[:, whole:].copy()
        # Differences between samples: hum and rumble, which channels share without a leak, count for little.
        steps = np.diff(data[:, :whole], axis=1, prepend=0).reshape(len(self._channels), -1, _STEP)
        index = {channel: place for place, channel in enumerate(self._channels)}
        for one, other in self._pairs:
            self._sums[one, other].append(np.einsum("ij,ij->i", steps[index[one]], steps[index[other]]))

    def _smooth(self, one: int, other: int) -> Values:
        sums = self._sums[min(one, other), max(one, other)].whole().astype(np.float64)
        return np.convolve(sums, _SMOOTH, mode="same") if len(sums) >= len(_SMOOTH) else sums


def _leaked(powers: tuple[Values, Values, Values], floor: float, settings: LeakSettings) -> NDArray[np.bool_]:
    """Is a channel of power own a weaker copy of one of power theirs? shared: the power that they have in common."""
    own, theirs, shared = powers
    likeness = np.abs(shared) / np.sqrt(own * theirs + 1e-20)
    weaker = _db(theirs) - _db(own) >= settings.weaker_db
    left = _db(own * np.maximum(1 - likeness ** 2, 1e-9))
    return np.asarray(weaker & ((likeness >= settings.sure) | ((likeness >= settings.possible) & (left <= floor + settings.over_floor_db))))


def _db(power: Values) -> Values:
    return 10 * np.log10(np.maximum(power / _STEP, 1e-11))


def _floor(level_db: Values, settings: LeakSettings) -> float:
    heard = level_db[level_db > settings.dead_db]
    if not len(heard):
        return settings.dead_db
    # A channel that never rests has no floor to be read off: then it is put well under the level of its talk.
    return float(min(np.percentile(heard, 10), np.percentile(heard, 95) - settings.talk_over_floor_db))

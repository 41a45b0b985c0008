"""Decoded frames to 16 kHz float32, channel by channel."""
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import av
import numpy as np
from numpy.typing import NDArray

from ..timebase import HEARING_RATE_HZ
from .recogniser import Sound

_BLOCK_S = 1.0
_WHOLE = {"u8": (128.0, 128.0), "s16": (0.0, 32768.0), "s32": (0.0, 2147483648.0), "s64": (0.0, 9.223372036854775808e18)}


@dataclass(frozen=True, slots=True)
class Raw:
    """Samples as decoded, shape (channels, samples), in the numbers of their format; turned into float32 a second at a time."""

    data: NDArray[Any]
    zero: float
    full: float

    @classmethod
    def of(cls, frame: Any) -> "Raw":
        data = frame.to_ndarray()
        if not frame.format.is_planar:
            data = data.reshape(-1, frame.layout.nb_channels).T
        return cls(data, *_WHOLE.get(frame.format.name.rstrip("p"), (0.0, 1.0)))


MOST_PLANES = 7
"""PyAV finds a frame's planes by running to the first empty pointer; behind the eighth there is none, and it would read on and crash."""


def readable(frame: Any) -> Any:
    """The frame itself, or the same samples side by side in one plane where it has more planes than PyAV may be asked for.

    Raises FFmpegError or ValueError for frames of damaged layout.
    """
    if not frame.format.is_planar or frame.layout.nb_channels <= MOST_PLANES:
        return frame
    packed, = av.AudioResampler(format=frame.format.name.rstrip("p"), layout=frame.layout, rate=frame.sample_rate).resample(frame)
    packed.pts, packed.time_base = frame.pts, frame.time_base
    return packed


def as_float(pieces: Sequence[Raw]) -> NDArray[np.float32]:
    """Samples of one format as float32 in [-1, 1] (up to 4 where they were clipped), whatever it is; what is no number becomes 0."""
    data = np.concatenate([piece.data for piece in pieces], axis=1)
    whole = (data.astype(np.float32) - np.float32(pieces[0].zero)) / np.float32(pieces[0].full)
    return whole if np.issubdtype(data.dtype, np.integer) else np.clip(np.nan_to_num(whole), -4.0, 4.0)


class Resampler:
    """One unbroken stretch of frames: gathers about a second, resamples the wanted channels, keeps count of samples at both rates."""

    def __init__(self, start_s: float, rate_hz: int, channels: Sequence[int]) -> None:
        self._start_s, self._rate_hz, self._channels = start_s, rate_hz, list(channels)
        self._fed = 0
        self._given = round(start_s * HEARING_RATE_HZ)
        self._waiting: list[Raw] = []
        self._waiting_samples = 0
        self._filters = [av.AudioResampler(format="fltp", layout="mono", rate=HEARING_RATE_HZ) for _ in self._channels]

    def goes_on(self, at_s: float, rate_hz: int, tolerance_s: float) -> bool:
        """Does a frame at at_s follow what was fed, at the same rate?"""
        return rate_hz == self._rate_hz and abs(at_s - self._start_s - self._fed / self._rate_hz) <= tolerance_s

    def feed(self, raw: Raw) -> tuple[int, list[Sound]] | None:
        """Take a frame; about once a second gives back (first sample at 16 kHz, sound of each channel)."""
        given = None
        if self._waiting and (raw.full, raw.data.shape[0]) != (self._waiting[0].full, self._waiting[0].data.shape[0]):
            given = self._give(last=False)  # the format changed on the way: what waited is given first
        self._waiting.append(raw)
        self._fed += raw.data.shape[1]
        self._waiting_samples += raw.data.shape[1]
        return given or (self._give(last=False) if self._waiting_samples >= _BLOCK_S * self._rate_hz else None)

    def finish(self) -> tuple[int, list[Sound]] | None:
        """What is still inside, at the end of the stretch."""
        return self._give(last=True)

    def _give(self, last: bool) -> tuple[int, list[Sound]] | None:
        data = self._padded(as_float(self._waiting)) if self._waiting else None
        self._waiting, self._waiting_samples = [], 0
        sounds = [self._filtered(place, None if data is None else data[channel], last)
                  for place, channel in enumerate(self._channels)]
        start, self._given = self._given, self._given + len(sounds[0])
        return (start, sounds) if len(sounds[0]) else None

    def _padded(self, data: NDArray[np.float32]) -> NDArray[np.float32]:
        missing = max(self._channels) + 1 - data.shape[0]
        return np.pad(data, ((0, missing), (0, 0))) if missing > 0 else data

    def _filtered(self, place: int, data: NDArray[np.float32] | None, last: bool) -> Sound:
        if self._rate_hz == HEARING_RATE_HZ:
            return np.zeros(0, np.float32) if data is None else np.ascontiguousarray(data)
        pieces = []
        if data is not None and data.size:
            frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(data)[None], format="fltp", layout="mono")
            frame.sample_rate = self._rate_hz
            pieces += self._filters[place].resample(frame)
        if last:
            pieces += self._filters[place].resample(None)
        return np.concatenate([piece.to_ndarray()[0] for piece in pieces]) if pieces else np.zeros(0, np.float32)

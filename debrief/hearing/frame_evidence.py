"""Evidence for speech, frame by frame (32 ms): a small network's probability, level, flatness and tone. Streamed, memory flat.

The network is the voice detector that ships with the recogniser (an ONNX file of its assets); its state is carried from block to block.
"""
from dataclasses import dataclass, field

import numpy as np
import onnxruntime
from numpy.typing import NDArray

from ..timebase import HEARING_RATE_HZ
from .detector import detector_file
from .recogniser import Sound

FRAME = 512
"""Samples of a frame: 32 ms at 16 kHz, the detector's own step."""
_CONTEXT = 64
_STATE = 128
_BAND_HZ = (300.0, 3400.0)
_SILENT_DB = -100.0
_LOOSE = 600

Values = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Evidence:
    """One value a frame. speech: the detector's probability; level_db: of the radio band, re full scale; flatness: 0 tone to 1 noise;
    tone: share of the band's power in its two strongest narrow lines."""

    speech: Values
    level_db: Values
    flatness: Values
    tone: Values

    def __len__(self) -> int:
        return len(self.speech)


class Growing:
    """Values that come in small pieces, a day of them: joined now and then, since each array costs as much again beside its few numbers."""

    def __init__(self) -> None:
        self._joined: list[Values] = []
        self._loose: list[Values] = []

    def append(self, values: Values) -> None:
        self._loose.append(values)
        if len(self._loose) >= _LOOSE:
            self._join()

    def _join(self) -> None:
        self._joined.append(np.concatenate(self._loose))
        self._loose.clear()

    def whole(self) -> Values:
        """All values as one array, which is then the only copy of them."""
        if self._loose:
            self._join()
        if len(self._joined) != 1:
            self._joined = [np.concatenate(self._joined) if self._joined else np.zeros(0, np.float32)]
        return self._joined[0]


@dataclass
class _Gathered:
    speech: Growing = field(default_factory=Growing)
    level_db: Growing = field(default_factory=Growing)
    flatness: Growing = field(default_factory=Growing)
    tone: Growing = field(default_factory=Growing)


class EvidenceReader:
    """Takes the sound of one channel in order, holes filled with zeros; hands out the evidence at the end."""

    def __init__(self) -> None:
        self._session = _detector()
        self._h = np.zeros((1, 1, _STATE), np.float32)
        self._c = np.zeros((1, 1, _STATE), np.float32)
        self._context = np.zeros(_CONTEXT, np.float32)
        self._rest = np.zeros(0, np.float32)
        self._window = np.hanning(FRAME).astype(np.float32)
        lines = np.fft.rfftfreq(FRAME, 1 / HEARING_RATE_HZ)
        self._band = (lines >= _BAND_HZ[0]) & (lines <= _BAND_HZ[1])
        self._gathered = _Gathered()

    def feed(self, sound: Sound) -> None:
        """The next samples of the channel."""
        data = np.concatenate([self._rest, sound]) if len(self._rest) else sound
        whole = len(data) // FRAME * FRAME
        self._rest = data[whole:].copy()
        if whole:
            self._take(data[:whole].reshape(-1, FRAME))

    def finish(self) -> Evidence:
        """Evidence of every frame; the last, short frame is filled with zeros."""
        if len(self._rest):
            self._take(np.pad(self._rest, (0, FRAME - len(self._rest)))[None])
            self._rest = self._rest[:0]
        lists = self._gathered
        return Evidence(lists.speech.whole(), lists.level_db.whole(), lists.flatness.whole(), lists.tone.whole())

    def _take(self, frames: NDArray[np.float32]) -> None:
        self._gathered.speech.append(self._probabilities(frames))
        power = np.abs(np.fft.rfft(frames * self._window, axis=1))[:, self._band] ** 2 + 1e-12
        total = power.sum(axis=1)
        self._gathered.level_db.append(np.maximum(_SILENT_DB, 10 * np.log10(total / FRAME ** 2 * 8 / 3 * 2)).astype(np.float32))
        self._gathered.flatness.append((np.exp(np.log(power).mean(axis=1)) / power.mean(axis=1)).astype(np.float32))
        lines = power[:, :-2] + power[:, 1:-1] + power[:, 2:]
        self._gathered.tone.append((_two_strongest(lines) / total).astype(np.float32))

    def _probabilities(self, frames: NDArray[np.float32]) -> Values:
        if not frames.any():  # digital silence: nothing to detect, and hours of it are common
            self._context = frames[-1, -_CONTEXT:].copy()
            self._h, self._c = np.zeros_like(self._h), np.zeros_like(self._c)
            return np.zeros(len(frames), np.float32)
        contexts = np.vstack([self._context[None], frames[:-1, -_CONTEXT:]])
        self._context = frames[-1, -_CONTEXT:].copy()
        inputs = np.ascontiguousarray(np.concatenate([contexts, frames], axis=1))
        output, self._h, self._c = self._session.run(None, {"input": inputs, "h": self._h, "c": self._c})
        return np.asarray(output, np.float32).reshape(-1)


def _two_strongest(lines: NDArray[np.floating]) -> NDArray[np.floating]:
    """Power of the strongest narrow line and of the strongest one clear of it: one tone, or the two of a telephone key."""
    first = lines.argmax(axis=1)
    apart = np.abs(np.arange(lines.shape[1])[None] - first[:, None]) > 2
    return lines.max(axis=1) + (lines * apart).max(axis=1)


def _detector() -> onnxruntime.InferenceSession:
    options = onnxruntime.SessionOptions()
    options.inter_op_num_threads = options.intra_op_num_threads = 1
    options.enable_cpu_mem_arena = False
    options.log_severity_level = 4
    return onnxruntime.InferenceSession(str(detector_file()), providers=["CPUExecutionProvider"], sess_options=options)

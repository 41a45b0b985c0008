"""The interface of every recogniser: hear a window, weigh candidate texts against a span. Hearing knows no lexicon."""
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Weights:
    """Verified weights on this machine. digest: sha256 over the digests of all their files."""

    name: str
    folder: Path
    digest: str


@dataclass(frozen=True, slots=True)
class Hints:
    """Passed in from outside, may be empty: words that may occur, and a text in the style of what is said."""

    hotwords: tuple[str, ...] = ()
    prompt: str = ""


@dataclass(frozen=True, slots=True)
class HeardWord:
    """Seconds count from the start of the window."""

    text: str
    start_s: float
    end_s: float
    probability: float


@dataclass(frozen=True, slots=True)
class HeardSegment:
    words: tuple[HeardWord, ...]
    mean_log_probability: float
    no_speech_probability: float
    compression_ratio: float


@dataclass(frozen=True, slots=True)
class Weighed:
    """What the model says of texts for one span, raw, so that the rule that decides stands in one place (harvest).

    sums[i]: log p(candidate i | span); silences[i]: log p(candidate i | digital silence); tokens[i]: its length; free_*: the same
    for what free hearing wrote.
    """

    sums: tuple[float, ...]
    silences: tuple[float, ...]
    tokens: tuple[int, ...]
    free_sum: float
    free_silence: float
    free_tokens: int

    def scores(self, k: float = 0.8) -> tuple[float, ...]:
        """sum - k x silence: length-fair between phrases at k = 0.8."""
        return tuple(total - k * quiet for total, quiet in zip(self.sums, self.silences, strict=True))

    def free(self, k: float = 0.8) -> float:
        return self.free_sum - k * self.free_silence


class Recogniser(Protocol):
    """name: as the user gave it; digest: sha256 over the weights; both stand in every pass."""

    name: str
    digest: str

    def hear(self, sound: Sound, hints: Hints) -> tuple[HeardSegment, ...]:
        """Words of one window: 16 kHz mono float32 in [-1, 1], at most 30 s. Deterministic: no sampling, nothing carried."""
        ...

    def weigh(self, sound: Sound, candidates: Sequence[str], free: str) -> Weighed:
        """Scores of candidate texts for one span (16 kHz mono float32, at most 30 s)."""
        ...

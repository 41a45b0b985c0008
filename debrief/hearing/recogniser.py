"""The interface of every recogniser: hear a window, weigh candidate texts against a span. Hearing knows no lexicon."""
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float32]

PHRASE_CORRECTION = 0.8
"""How much of a text's score on silence is taken off when whole phrases compete (0.75 to 0.85 were equal on measured loops)."""


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


NO_HINTS = Hints()


@dataclass(frozen=True, slots=True)
class HeardWord:
    """Seconds count from the start of the window."""

    text: str
    start_s: float
    end_s: float
    probability: float


@dataclass(frozen=True, slots=True)
class HeardSegment:
    """set_aside: why it makes no talk ('' = used); the second of two hearings of the same sound is kept like that."""

    words: tuple[HeardWord, ...]
    mean_log_probability: float
    no_speech_probability: float
    compression_ratio: float
    set_aside: str = ""

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


@dataclass(frozen=True, slots=True)
class Weighed:
    """scores[i]: length-fair log probability of candidate i; free: the same for the free hypothesis; silence-corrected.

    The raw pieces, candidates first and the free hypothesis last: sums, log p(text | span); silence, log p(text | silence); tokens,
    how many; ends, log p(the text ends here | span, text), empty where not asked for. Differences under 0.5 are noise.
    """

    scores: tuple[float, ...]
    free: float
    sums: tuple[float, ...] = ()
    silence: tuple[float, ...] = ()
    tokens: tuple[int, ...] = ()
    ends: tuple[float, ...] = ()

    def corrected(self, k: float, with_end: bool = False) -> tuple[tuple[float, ...], float]:
        """(scores of the candidates, score of the free hypothesis) as sums - k x silence, plus ends where asked for and known.

        k: 0.8 between phrases, 0 to 0.3 between values inside one frame.
        """
        ends = self.ends if with_end and self.ends else (0.0,) * len(self.sums)
        scores = tuple(total - k * still + end for total, still, end in zip(self.sums, self.silence, ends, strict=True))
        return scores[:-1], scores[-1]


class Recogniser(Protocol):
    """name: as the user gave it; digest: sha256 over the weights; settings: what else decides its text. All stand in every pass."""

    name: str
    digest: str
    settings: dict[str, str]

    def hear(self, sound: Sound, hints: Hints) -> tuple[HeardSegment, ...]:
        """Words of one window: 16 kHz mono float32 in [-1, 1], at most 30 s. Deterministic: no sampling, nothing carried."""
        ...

    def weigh(self, sound: Sound, candidates: Sequence[str], free: str, with_end: bool = False) -> Weighed:
        """Scores of candidate texts for one span (16 kHz mono float32, at most 30 s). The same call gives the same answer."""
        ...


@runtime_checkable
class BatchRecogniser(Recogniser, Protocol):
    """A recogniser that hears several windows at once faster than one after the other. batch: how many at most."""

    batch: int

    def hear_many(self, sounds: Sequence[Sound], hints: Hints) -> Sequence[tuple[HeardSegment, ...]]:
        """What `hear` gives for each sound, in their order. The same sounds in the same order give the same words."""
        ...

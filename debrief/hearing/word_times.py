"""Word times by the sound itself, and words of one window cut into segments.

The attention of a recogniser gives the pause before a word to the word: its starts come early, by half a second and more after pauses.
The level of the sound says where the word begins and ends.
"""
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from .copies import level_pattern
from .recogniser import HeardWord, Sound

HOPS_A_SECOND = 100
SPOKEN = 0.4
"""A frame is spoken where its level lies this far up from the window's quiet to its loud (10th and 90th percentile of decibels)."""
LEAST_S, LONGEST_TAIL_S = 0.12, 0.3
PAUSE_S, SENTENCE_PAUSE_S = 0.35, 0.2


def at_the_sound(words: Sequence[HeardWord], sound: Sound) -> tuple[HeardWord, ...]:
    """The words of a window with starts moved behind the pause before them, and ends to where the level falls; order is kept."""
    spoken = _spoken(sound)
    if not len(spoken) or not words:
        return tuple(words)
    found = [_begun(word, spoken) for word in words]
    limits = [*(word.start_s for word in found[1:]), len(sound) / 16_000]
    return tuple(_ended(word, limit_s, spoken) for word, limit_s in zip(found, limits, strict=True))


def cut_at_pauses(words: Sequence[HeardWord]) -> Iterator[tuple[HeardWord, ...]]:
    """Words in runs: a new one after a pause, sooner behind the end of a sentence. No word is lost."""
    start = 0
    for index, (before, word) in enumerate(pairwise(words), start=1):
        pause_s = word.start_s - before.end_s
        if pause_s > PAUSE_S or (pause_s > SENTENCE_PAUSE_S and before.text.endswith((".", "?", "!"))):
            yield tuple(words[start:index])
            start = index
    if words:
        yield tuple(words[start:])


def _spoken(sound: Sound) -> NDArray[np.bool_]:
    """For every hundredth of a second: is the level near the window's loud one? Frames are centred 16 ms behind their start."""
    pattern = level_pattern(sound)
    if not pattern.shape[1]:
        return np.zeros(0, bool)
    level = 10 * np.log10((10 ** (pattern / 10)).sum(axis=0) + 1e-12)
    level = np.convolve(level, np.ones(3) / 3, mode="same")
    quiet, loud = np.percentile(level, (10, 90))
    return level >= quiet + SPOKEN * (loud - quiet)


def _begun(word: HeardWord, spoken: NDArray[np.bool_]) -> HeardWord:
    first, last = (min(len(spoken), int(s * HOPS_A_SECOND)) for s in (word.start_s, word.end_s - LEAST_S))
    inside = np.flatnonzero(spoken[first:last])
    moved = first + (int(inside[0]) if len(inside) else max(0, last - first))
    return word if moved <= first else replace(word, start_s=min(word.end_s, moved / HOPS_A_SECOND + 0.016))


def _ended(word: HeardWord, limit_s: float, spoken: NDArray[np.bool_]) -> HeardWord:
    first = int(word.end_s * HOPS_A_SECOND)
    silent = np.flatnonzero(~spoken[first:first + round(LONGEST_TAIL_S * HOPS_A_SECOND)])
    tail_s = silent[0] / HOPS_A_SECOND if len(silent) else 0.0
    return replace(word, end_s=max(word.end_s, min(limit_s, word.end_s + float(tail_s))))

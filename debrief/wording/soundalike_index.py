"""Finds the terms that might sound like some heard words, without comparing with each of them.

Terms are filed under the skeleton of their sounds (consonants by place, see soundalike.skeleton) and under that skeleton with one letter
left out, or two where it is long. Heard words whose own skeleton, so shortened or not, falls into the same drawer are near, if their
outlines (vowels kept, as one letter) are alike enough to be worth comparing sound by sound.
"""
from collections import defaultdict
from collections.abc import Iterable
from functools import lru_cache
from itertools import combinations

from rapidfuzz.distance import Levenshtein

from .soundalike import Sounds, outlined, skeleton
from .vocabulary import Wanted

LONG_SKELETON = 6
LONGEST_SKELETON = 32
"""Longer ones stand for nothing that is said; leaving letters out of them would fill any memory."""
LEAST_OUTLINE = 0.65


@lru_cache(maxsize=131072)
def drawers(shape: str) -> frozenset[str]:
    """The skeleton and what is left of it without one letter, or two when it has LONG_SKELETON letters or more."""
    found = {shape}
    if len(shape) > LONGEST_SKELETON:
        return frozenset(found)
    for gone in (1, 2) if len(shape) >= LONG_SKELETON else (1,):
        if len(shape) > gone:
            found |= {"".join(c for i, c in enumerate(shape) if i not in cut) for cut in combinations(range(len(shape)), gone)}
    return frozenset(found)


class SoundIndex:
    """near(sounds) gives the terms in the same drawers, in the order they were filed."""

    def __init__(self, entries: Iterable[Wanted]) -> None:
        self._entries = tuple(entries)
        self._drawers: dict[str, set[int]] = defaultdict(set)
        for number, entry in enumerate(self._entries):
            for drawer in drawers(skeleton(entry.sounds)):
                self._drawers[drawer].add(number)
        self._longest = 1.6 * max((len(entry.sounds) for entry in self._entries), default=0)
        self._near: dict[str, tuple[int, ...]] = {}
        self._outlines = [outlined(entry.sounds) for entry in self._entries]

    def near(self, sounds: Sounds) -> tuple[Wanted, ...]:
        if len(sounds) > self._longest:
            return ()
        shape = skeleton(sounds)
        if shape not in self._near:
            numbers = {number for drawer in drawers(shape) if drawer for number in self._drawers.get(drawer, ())}
            self._near[shape] = tuple(sorted(numbers))
        outline = outlined(sounds)
        return tuple(self._entries[number] for number in self._near[shape]
                     if Levenshtein.normalized_similarity(outline, self._outlines[number], score_cutoff=LEAST_OUTLINE))

"""How common English words and pairs of words are: what makes a heard stretch odd, and so worth a second reading.

Counts: the word and word-pair lists that the symspellpy package carries (Google Books n-grams crossed with SCOWL; about 1e12 words).
Rarity is a figure of our own: 0 for words counted 1e8 times or more, 1 for words counted 1e5 times or less, or not at all.
"""
from collections.abc import Sequence
from functools import lru_cache
from importlib.resources import files
from itertools import pairwise
from math import log10

_WORDS, _PAIRS = "frequency_dictionary_en_82_765.txt", "frequency_bigramdictionary_en_243_342.txt"
_COMMON, _RARE = 8.0, 5.0
_ALL_WORDS = 1e12
_FUNCTION = frozenset("a an the of in on at and or is it it's its i i'm i've i'd you your we our he she they his her that this these those "
                      "be been was were are am do did have has had not no so if as by with from up down out off my me him them there here "
                      "what when who how which let don doesn won can isn wasn didn will would can could should may".split())


@lru_cache(maxsize=2)
def _counts(name: str) -> dict[str, int]:
    lines = (files("symspellpy") / name).read_text(encoding="utf-8-sig").splitlines()
    return {text: int(count) for text, _, count in (line.rpartition(" ") for line in lines) if text}


@lru_cache(maxsize=65536)
def rarity(word: str) -> float:
    """0 for a common word to 1 for a rare or unknown one. word: lower case."""
    counts = _counts(_WORDS)
    count = max(counts.get(word, 0), counts.get(word.removesuffix("'s"), 0))
    return 1.0 if not count else min(1.0, max(0.0, (_COMMON - log10(count)) / (_COMMON - _RARE)))


def is_function_word(word: str) -> bool:
    """Words that stand in any text and tell nothing about its trade."""
    return word in _FUNCTION or word.partition("'")[0] in _FUNCTION


_SHORTENED = {"'re": "are", "'m": "am", "'ll": "will", "'ve": "have"}


def spelt_out(words: Sequence[str]) -> tuple[str, ...]:
    """The words with 'we're' as 'we are' and the like; 's stands for too many things and is left."""
    found: list[str] = []
    for word in words:
        head, mark, tail = word.partition("'")
        found += [head, _SHORTENED[mark + tail]] if head and mark + tail in _SHORTENED else [word]
    return tuple(found)


@lru_cache(maxsize=65536)
def is_known_pair(first: str, second: str) -> bool:
    """Whether two words stand side by side in English at least as often as chance would have it."""
    count = _counts(_PAIRS).get(f"{first} {second}", 0)
    words = _counts(_WORDS)
    return count > words.get(first, 0) * words.get(second, 0) / _ALL_WORDS and count > 0


def odd_pairs(words: Sequence[str]) -> float:
    """Share of neighbouring pairs that English does not know; 0 for fewer than two words."""
    pairs = list(pairwise(words))
    return sum(not is_known_pair(*pair) for pair in pairs) / len(pairs) if pairs else 0.0

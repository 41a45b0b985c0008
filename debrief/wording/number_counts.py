"""Counts down to one: 'three two one, mark' is three numbers, not 321. Common practice, no source.

A recogniser writes a count without its pauses. Digits that fall by one to one are a count where they lead to an instant or end what is said, and no name
stands before them whose value they could be ('heading three two one').
"""
from collections.abc import Sequence

from .number_words import DIGITS

_DOWN = {**{word: value for word, value in DIGITS.items() if value > 0}, **{str(value): value for value in range(1, 11)}, "ten": 10}
_INSTANT = frozenset("mark hack now go drop release fire pull break launch liftoff lift ignition execute start stop cut".split())
_LEADS = frozenset("in mark ready by count counting".split())
"""A count ends what is said only behind these ("in three two one."); bare digits may be a code read back ("four three two one.")."""
_MARKS = tuple(".,;:?!")
LEAST, SURE = 3, 5
"""So many numbers are a count; so many are one whatever stands around them."""


def counted_down(words: Sequence[str]) -> set[int]:
    """The tokens of counts; each of them ends a number. words: as written."""
    plain = [word.strip(".,;:?!\"'()-").lower() for word in words]
    found: set[int] = set()
    start = 0
    while start < len(words):
        end = start + 1
        while end < len(words) and plain[end - 1] in _DOWN and _DOWN.get(plain[end], 0) == _DOWN[plain[end - 1]] - 1 > 0:
            end += 1
        length = end - start
        if length >= LEAST and plain[end - 1] in ("one", "1") and (length >= SURE or _is_count(words, plain, start, end)):
            found |= set(range(start, end))
        start = end
    return found


def _is_count(words: Sequence[str], plain: Sequence[str], start: int, end: int) -> bool:
    led = start > 0 and plain[start - 1] in _LEADS
    opens = start == 0 or words[start - 1][-1:] in _MARKS
    ends = end == len(words) or words[end - 1][-1:] in _MARKS
    return (led or opens) and not ends and plain[end] in _INSTANT or led and ends

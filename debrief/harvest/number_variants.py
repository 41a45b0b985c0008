"""Other numbers that might have been said where one was heard: what weighing chooses from, inside a frame, never by itself.

One digit changed, first those that radio mixes up most (five and nine, which is why "niner" exists: ICAO Annex 10 vol. II 5.2.1.4);
other fair readings; and other readings of words that sound like digits.
"""
from collections.abc import Iterator, Sequence

from ..records.talk import Number
from ..wording.say_numbers import plain, ways_to_say

_MIXED = {"0": "4268", "1": "9574", "2": "3780", "3": "2084", "4": "5089", "5": "9410", "6": "8307", "7": "1206", "8": "3620", "9": "5140"}
_SOUND = {"to": "2", "too": "2", "two": "2", "for": "4", "fore": "4", "won": "1", "ate": "8", "oh": "0", "o": "0", "free": "3", "tree": "3"}
MOST_DIGITS = 6


def digits_of(number: Number) -> str:
    """The number in digits, with its zeros and places."""
    text = number.text if number.text.replace(".", "", 1).lstrip("+-").isdigit() else plain(number.value)
    return text.lstrip("+")


def variants(text: str, most: int) -> tuple[str, ...]:
    """The number itself, then numbers with one digit changed, the likeliest mistakes first; at most `most` in all."""
    return tuple(dict.fromkeys((text, *_changed(text))))[:most]


def _changed(text: str) -> Iterator[str]:
    places = [i for i, c in enumerate(text) if c.isdigit()]
    if len(places) > MOST_DIGITS:
        return
    for rank in range(9):
        for place in reversed(places):
            order = _MIXED[text[place]] + "".join(d for d in "0123456789" if d not in _MIXED[text[place]] + text[place])
            if rank < len(order):
                yield text[:place] + order[rank] + text[place + 1:]


def as_digits(words: Sequence[str]) -> str | None:
    """Words that sound like digits, as digits ('to zero eight' -> '208'); None where a word sounds like none."""
    found = [_SOUND.get(word, word if word.isdigit() else _digit(word)) for word in words]
    return "".join(found) if found and all(found) else None


def _digit(word: str) -> str:
    return next((str(i) for i in range(10) if ways_to_say(str(i))[0] == word), "")


def spoken(text: str, ways: int = 2) -> tuple[str, ...]:
    """A number as words (up to `ways` forms) and in figures."""
    return (*ways_to_say(text)[:ways], text)

"""Other numbers that might have been said where one was heard: what weighing chooses from, inside a frame, never by itself.

A recogniser writes pauses as points and commas and breaks a string of digits into several numbers ("1, 0.40" for "one zero four"), so a run
of numbers is taken as one string of digits and read again: whole, with its point elsewhere, a broken string with a digit less; then with
one digit changed, first those that radio mixes up most (five and nine, which is why "niner" exists: ICAO Annex 10 vol. II 5.2.1.4).
"""
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby, zip_longest

from ..records.talk import Number
from ..wording.say_numbers import plain, ways_to_say
from .pieces import Piece

_MIXED = {"0": "4268", "1": "9574", "2": "3780", "3": "2084", "4": "5089", "5": "9410", "6": "8307", "7": "1206", "8": "3620", "9": "5140"}
_SOUND = {"to": "2", "too": "2", "two": "2", "for": "4", "fore": "4", "won": "1", "ate": "8", "oh": "0", "o": "0", "free": "3", "tree": "3"}
_LIKE_DIGITS = frozenset({"to", "too", "for", "won", "ate", "free", "fore"})
MOST_DIGITS, MOST_BROKEN = 6, 5


@dataclass(frozen=True, slots=True)
class Run:
    """Numbers side by side over tokens [start, end) of a turn. values: their digits as heard, the first reading of each."""

    start: int
    end: int
    values: tuple[str, ...]
    others: tuple[str, ...] = ()

    @property
    def digits(self) -> str:
        return "".join(c for value in self.values for c in value if c.isdigit())


def runs_of(piece: Piece) -> list[Run]:
    """Numbers of a piece, those with nothing between them taken together; words that sound like digits count where they touch one."""
    found: list[Run] = []
    for number in piece.numbers:
        text, others = digits_of(number), tuple(plain(other) for other in number.others)
        if found and found[-1].end == number.start:
            last = found.pop()
            found.append(Run(last.start, number.end, (*last.values, text), (*last.others, *others)))
        else:
            found.append(Run(number.start, number.end, (text,), others))
    return found


def homophone_runs(piece: Piece) -> Iterator[Run]:
    """The longest run of two words or more that sound like digits, one of them written as another word ('to zero eight')."""
    digits = [_as_digit(word) for word in piece.words]
    for known, group in groupby(range(len(digits)), key=lambda place: bool(digits[place])):
        places = list(group)
        start, end = places[0], places[-1] + 1
        if known and len(places) > 1 and _LIKE_DIGITS & set(piece.words[start:end]):
            yield Run(piece.start + start, piece.start + end, ("".join(digits[start:end]),))
            return


def digits_of(number: Number) -> str:
    """The number in digits, with its zeros and places."""
    text = number.text if number.text.replace(".", "", 1).lstrip("+-").isdigit() else plain(number.value)
    return text.lstrip("+")


def variants(run: Run, most: int) -> tuple[str, ...]:
    """The numbers a run may stand for, the likeliest first, at most `most`; the first is the value as heard."""
    main = run.values[0] if len(run.values) == 1 else run.digits
    mended = [*run.others, *_repointed(run.digits), *(_shortened(run.digits) if len(run.values) > 1 else ())]
    mixed = [text for pair in zip_longest(mended, _changed(main)) for text in pair if text]
    return tuple(dict.fromkeys((main, *mixed)))[:most]


def _repointed(digits: str) -> Iterator[str]:
    """The same digits as a whole number, and with the point at each place."""
    if 2 <= len(digits) <= MOST_BROKEN:
        yield digits
        yield from (f"{digits[:at]}.{digits[at:]}" for at in range(1, len(digits)))


def _shortened(digits: str) -> Iterator[str]:
    """The same digits with one less, where there are three or more: a recogniser may write one twice where it breaks a string."""
    if 3 <= len(digits) <= MOST_BROKEN:
        yield from (digits[:at] + digits[at + 1:] for at in reversed(range(len(digits))))


def _changed(text: str) -> Iterator[str]:
    places = [i for i, c in enumerate(text) if c.isdigit()]
    if len(places) > MOST_DIGITS:
        return
    for rank in range(9):
        for place in reversed(places):
            order = _MIXED[text[place]] + "".join(d for d in "0123456789" if d not in _MIXED[text[place]] + text[place])
            yield text[:place] + order[rank] + text[place + 1:]


def _as_digit(word: str) -> str:
    """A word that sounds like a digit, as that digit; '' where it sounds like none."""
    return _SOUND.get(word, word if word.isdigit() else _digit(word))


def _digit(word: str) -> str:
    return next((str(i) for i in range(10) if ways_to_say(str(i))[0] == word), "")


def spoken(text: str, run: Run, ways: int = 1) -> tuple[str, ...]:
    """A number as words (up to `ways` forms) and in figures: weighing does better on one or the other by recording.

    The same digits cut or pointed otherwise stand in words alone: "three eight" sounds the same for 38 and 3.8, so that the sound cannot
    choose between them, and the grammar of numbers must.
    """
    same = text not in run.values and [c for c in text if c.isdigit()] == list(run.digits)
    return ways_to_say(text)[:ways] if same else (*ways_to_say(text)[:ways], text)

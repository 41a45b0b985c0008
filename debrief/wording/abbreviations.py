"""Abbreviations spelt letter by letter that were heard with one letter wrong or without their first: 'UNH' for QNH, 'HT left' for CHT left.

Over a radio letters whose names sound alike are mixed up (B and P, D and T, M and N, S and X, Q and U: common practice, no source), and the
first one is lost where the key is pressed late. Nothing else may differ, so that an LMP never becomes a CMP.
"""
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from ..records.talk import Token
from .english import rarity
from .letter_sounds import LETTER_NAMES
from .soundalike import sound_likeness
from .vocabulary import Wanted

SHORTEST, LONGEST = 2, 5
ALIKE = 0.5
LOST_FIRST = 0.6
COMMON = 0.35
"""Likeness asked of two letters; what a lost first letter costs, in letters; words more usual than COMMON ('US', 'TV') are no abbreviation."""


@dataclass(frozen=True, slots=True)
class Spelt:
    """A term that holds an abbreviation. at: its place among the term's words; letters: lower case."""

    entry: Wanted
    at: int
    letters: str


def is_abbreviation(text: str) -> bool:
    return SHORTEST <= len(text) <= LONGEST and text.isalpha() and text.isupper() and text.isascii()


def spelt_terms(entries: Iterable[Wanted]) -> tuple[Spelt, ...]:
    """The terms with just one abbreviation among their words."""
    found = []
    for entry in entries:
        words = entry.text.split()
        places = [at for at, word in enumerate(words) if is_abbreviation(word)]
        if len(places) == 1 and len(words) == len(entry.words) and entry.kind != "stations":
            found.append(Spelt(entry, places[0], words[places[0]].lower()))
    return tuple(found)


def heard_abbreviation(tokens: Sequence[Token], at: int) -> str:
    """The letters of the token, lower case, where it is written as an abbreviation in text that has small letters too; else ''."""
    text = tokens[at].text.strip(".,?!;:").removesuffix("'s")
    if not is_abbreviation(text) or rarity(text.lower()) <= COMMON:
        return ""
    return text.lower() if any(letter.islower() for token in tokens for letter in token.text) else ""


def misheard(letters: str, plain: list[str], at: int, spelt: Sequence[Spelt]) -> Iterator[tuple[Wanted, int, int, float]]:
    """(term, first word, word behind the last, likeness 0 to 1) for each term whose other words stand around, as they are, among plain."""
    for term in spelt:
        start, words = at - term.at, term.entry.words
        around = start >= 0 and all(i == term.at or plain[start + i:start + i + 1] == [word] for i, word in enumerate(words))
        if around and (likeness := letters_alike(letters, term.letters)):
            yield term.entry, start, start + len(words), likeness


@lru_cache(maxsize=8192)
def letters_alike(heard: str, meant: str) -> float:
    """0 where more than one letter differs, or one that sounds otherwise."""
    if heard == meant[1:] and len(heard) >= SHORTEST:
        return 1 - LOST_FIRST / len(meant)
    apart = [(a, b) for a, b in zip(heard, meant, strict=False) if a != b]
    if len(heard) != len(meant) or len(apart) != 1:
        return 0.0
    a, b = apart[0]
    alike = sound_likeness(tuple(LETTER_NAMES[a].split()), tuple(LETTER_NAMES[b].split()))
    return 1 - (1 - alike) / len(meant) if alike >= ALIKE else 0.0

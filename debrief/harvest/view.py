"""A turn as extractors read it: plain words, clauses and numbers, worked out once for a Talk and shared."""
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeVar

from ..records.talk import Number, Turn
from .callsigns import CallBook, Mention, plain_word
from .talk import Talk

T = TypeVar("T")
_STOP = frozenset("a an the of at to in on for and is it we our my your i you with from as be by this that or are was not no off "
                  "one two three four five six seven eight nine ten zero".split())


def once(talk: Talk, name: str, make: Callable[[Talk], T]) -> T:
    """What make(talk) gives, worked out on the first call and kept with the talk."""
    kept: dict[str, Any] = vars(talk)
    if name not in kept:
        kept[name] = make(talk)
    return kept[name]


@dataclass(frozen=True, slots=True)
class View:
    """words: lower case, no punctuation at the edges; clauses, sentences: token ranges; numbers: by first token.

    names: stations named in the turn, in order.
    """

    turn: Turn
    words: tuple[str, ...]
    clauses: tuple[tuple[int, int], ...]
    sentences: tuple[tuple[int, int], ...]
    numbers: Mapping[int, Number]
    names: tuple[Mention, ...]

    def clause(self, index: int) -> tuple[int, int]:
        """The clause that holds this token."""
        return next((c for c in self.clauses if c[0] <= index < c[1]), (index, index + 1))

    def sentence(self, index: int) -> tuple[int, int]:
        return next((s for s in self.sentences if s[0] <= index < s[1]), (index, index + 1))

    def has(self, phrase: Sequence[str], start: int) -> bool:
        return self.words[start:start + len(phrase)] == tuple(phrase)

    def find(self, phrases: "Phrases", start: int = 0, end: int | None = None) -> tuple[int, int] | None:
        """The first place of any of the phrases within [start, end)."""
        stop = len(self.words) if end is None else min(end, len(self.words))
        for index in range(start, stop):
            for phrase in phrases.get(self.words[index], ()):
                if index + len(phrase) <= stop and self.has(phrase, index):
                    return index, index + len(phrase)
        return None

    def asks(self, start: int, end: int) -> bool:
        """Whether the sentence over these tokens is written as a question."""
        return any("?" in token.text for token in self.turn.tokens[start:end])

    def before(self, index: int, count: int = 1) -> tuple[str, ...]:
        return self.words[max(0, index - count):index]


Phrases = Mapping[str, tuple[tuple[str, ...], ...]]


def phrases(text: str) -> Phrases:
    """Phrases by their first word, longest first; they are parted by ' | ' or line ends."""
    found: dict[str, list[tuple[str, ...]]] = {}
    for phrase in re.split(r"\s*[|\n]\s*", text.strip()):
        words = tuple(phrase.split())
        if words:
            found.setdefault(words[0], []).append(words)
    return {first: tuple(sorted(group, key=len, reverse=True)) for first, group in found.items()}


def views(talk: Talk) -> tuple[View, ...]:
    """The view of every turn, by turn index."""
    return once(talk, "_views", _make_views)


def _make_views(talk: Talk) -> tuple[View, ...]:
    book = call_book(talk)
    return tuple(_view(turn, talk.numbers[turn.index], book) for turn in talk.turns)


def call_book(talk: Talk) -> CallBook:
    return once(talk, "_call_book", lambda given: CallBook.of(given.session).learning(turn.tokens for turn in given.turns))


def _view(turn: Turn, numbers: Sequence[Number], book: CallBook) -> View:
    tokens = turn.tokens
    return View(turn, tuple(token.norm for token in tokens), _ranges([token.ends_clause for token in tokens]),
                _ranges([token.ends_sentence for token in tokens]), {number.start: number for number in numbers},
                book.find([plain_word(token) for token in tokens]) if book.names else ())


def _ranges(ends: Sequence[bool]) -> tuple[tuple[int, int], ...]:
    found, start = [], 0
    for index, last in enumerate(ends):
        if last or index + 1 == len(ends):
            found.append((start, index + 1))
            start = index + 1
    return tuple(found)


@lru_cache(maxsize=16384)
def stem(word: str) -> str:
    """A word without its commonest endings ('reversals' -> 'reversal', 'trimming' -> 'trim'): enough to find a plan's
    words; '-ize' and '-our' are spelt one way."""
    word = word.removesuffix("'s").replace("'", "").replace("z", "s").replace("our", "or")
    for ending in ("ings", "ing", "edly", "ed", "es", "s"):
        if word.endswith(ending) and len(word) - len(ending) >= 3 and not word.endswith("ss"):
            word = word[:-len(ending)]
            break
    if len(word) > 3 and word[-1] == word[-2]:
        word = word[:-1]
    return word.removesuffix("e") if len(word) > 3 else word


@lru_cache(maxsize=4096)
def content(text: str) -> tuple[str, ...]:
    """Stems of the words of a plan's text that carry its meaning, in order, figures kept."""
    words = re.findall(r"[a-z']+|\d+(?:\.\d+)?", text.lower())
    return tuple(dict.fromkeys(stem(word) for word in words if word not in _STOP))


def stems_of(view: View, start: int = 0, end: int | None = None) -> frozenset[str]:
    """Stems of a stretch of a turn, and the figures of its numbers."""
    stop = len(view.words) if end is None else end
    found = {stem(word) for word in view.words[start:stop] if word not in _STOP}
    return frozenset(found | {f"{n.value.normalize():f}" for at, n in view.numbers.items() if start <= at < stop})

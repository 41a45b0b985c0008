"""Named clocks: those of the session file, and those that the talk makes ('lift off, mark' starts a clock called lift off).

A name is matched by the stems of its content words, of its name and of what starts it; the plan's clocks come before the talk's own.
"""
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise

from ..session import ClockPlan, Session
from ..wording.english import is_function_word
from ..wording.number_words import NUMBER_WORDS
from .readout_words import HEDGES
from .view import stem

_EMPTY = frozenset("the a an of at to in on for and is it we our my your i you with from as be by this that or are was not no so s t re "
                   "ve ll there here clock clocks time times timer minute minutes second seconds hour hours mark marks plus minus stand "
                   "standby now go gone left right limit have has had will going okay roger copy please stopwatch running "
                   "get met hack got give gives told tell "
                   "away past shortly after before until since around nearly almost exactly planned scheduled expected".split())
_WEAK = frozenset("off on up down out in over top new first last next main run point".split())
_IRREGULAR = {"left": "leav", "leaving": "leav", "leave": "leav", "shut": "shut", "began": "begin", "begun": "begin", "ran": "run",
              "lifted": "lift", "took": "take", "taken": "take", "gone": "go", "came": "come", "met": "meet", "held": "hold"}


def clock_stem(word: str) -> str:
    """The stem of a word as clocks are named, so that 'leaving' and 'left', 'splashed' and 'splash', 'arrival' and 'arrive' meet."""
    word = word.lower()
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    plain = stem(word)
    for ending in ("als", "al", "ly"):
        if plain.endswith(ending) and len(plain) - len(ending) >= 3:
            return plain.removesuffix(ending)
    return plain


def content(words: Iterable[str]) -> list[str]:
    """Stems of the words that carry meaning, in order."""
    plain = [re.sub(r"'\w+$", "", word.strip(".,;:?!…\"'").lower()) for word in words]
    return [clock_stem(word) for word in plain if word in _IRREGULAR or (word and word not in _EMPTY and word.isalpha())]


LATELY = 6
"""Turns for which a clock of the talk alone is still the one that is meant."""


@dataclass
class Clock:
    """One clock by name. stems: of its name; starters: of what starts it; down_from: seconds a count starts from; alone: of a talk

    that has no planned clock.
    """

    name: str
    stems: frozenset[str]
    starters: frozenset[str] = frozenset()
    planned: bool = False
    alone: bool = False
    down: bool = False
    down_from: float | None = None
    limit_s: float | None = None
    from_: str | None = None
    in_seconds: bool = False
    started: bool = False
    held: bool = False


def _weight(stems: Iterable[str]) -> float:
    return sum(0.3 if stem in _WEAK else 1.0 for stem in stems)


@dataclass
class ClockBook:
    """All clocks known so far in the talk. last: the clock spoken of last, last_turn: where; counted: turn and seconds of the last time remaining."""

    clocks: list[Clock] = field(default_factory=list)
    last: Clock | None = None
    last_turn: int = 0
    counted: tuple[int, Decimal | None] | None = None

    @classmethod
    def of(cls, session: Session) -> "ClockBook":
        return cls([_planned(clock) for clock in session.clocks])

    def meant(self, words: Sequence[str]) -> Clock | None:
        """The clock that these words name best: most shared stems, names before starters, the plan's before the talk's.

        Two words may stand for one ('shutting down' names a 'shutdown').
        """
        stems = content(words)
        said = frozenset([*stems, *(f"{one}{link}{two}" for one, two in pairwise(stems) for link in ("", "e"))])
        best, score = None, 0.0
        for clock in self.clocks:
            named, started = _weight(clock.stems) or 1.0, _weight(clock.starters) or 1.0
            shared = _weight(said & clock.stems) / named + 0.6 * _weight(said & clock.starters) / started
            shared += 0.01 * len(said & clock.stems)
            if shared > score + 1e-9:
                best, score = clock, shared
        return best if score >= 0.3 else None

    def named(self, words: Sequence[str]) -> Clock | None:
        """The clock meant, or a new one that goes by the content words given; None where there are none."""
        clock = self.meant(words)
        if clock is None:
            plain = [word.strip(".,;:?!…\"'").lower() for word in words]
            name = " ".join(word for word in plain if content([word]) and word not in NUMBER_WORDS and not is_function_word(word) and word not in HEDGES)
            if not set(content(name.split())) - _WEAK - {"leav", "right", "go", "come", "take"}:
                return None
            clock = Clock(name, frozenset(content(name.split())), alone=not any(known.planned for known in self.clocks))
            self.clocks.append(clock)
        return clock

    def lately(self, turn: int) -> Clock | None:
        """The clock spoken of last; one that no plan knows only where that was a moment ago."""
        return self.last if self.last is not None and (self.last.planned or turn - self.last_turn <= LATELY) else None

    def counting_down(self) -> Clock | None:
        """The clock that counts down; the planned one first."""
        if self.last is not None and self.last.down:
            return self.last
        return next((clock for clock in self.clocks if clock.down), None)

    def standing(self, words: Sequence[str]) -> Clock | None:
        """The clock that is held, if only one is; of several the one that is called what these words call it ('clock', 'count')."""
        held = [clock for clock in self.clocks if clock.held]
        held = [clock for clock in held if set(clock.name.split()) & set(words)] if len(held) > 1 else held
        return held[0] if len(held) == 1 else None

    def limit_of(self, clock: Clock) -> Clock:
        """The limit clock that counts from this one, where the plan has one."""
        return next((other for other in self.clocks if other.from_ == clock.name and other.limit_s), clock)


def _planned(plan: ClockPlan) -> Clock:
    limit = plan.limit_s if plan.limit_s is not None else plan.limit_min * 60 if plan.limit_min is not None else None
    stems = frozenset(content(plan.name.split())) or frozenset(plan.name.lower().split())
    return Clock(plan.name, stems, frozenset(content((plan.starts or "").split())) - stems, True, False, plan.counts == "down", plan.from_s, limit,
                 plan.from_, bool(limit and limit <= 120))

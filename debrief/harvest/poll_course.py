"""One poll under way: who was asked and when, who answered, what its stations answer with, and for how long it stays open."""
from dataclasses import dataclass, field

from .poll_rounds import STANCES
from .poll_words import MILD, NO_OBJECTION

_PATIENCE, _ANSWERED = 14, 6
"""Turns for which a poll stays open without asking or answer: while somebody is waited for, and when all who were asked have answered."""
_LATE_TURNS = 30
_FIRM = STANCES - MILD - {"go"}


@dataclass
class Poll:
    """One poll under way. asked: station -> turn and token of its last asking; named: the station named last;

    against: stations whose last answer was no GO, with that answer: another is waited for; words: of its call; learnt: what its stations answer with;
    objections: it asks who is against, so that 'no' lets it go on; replied: stations that spoke when called, in words nobody could take for an answer.
    """

    question: str
    turn: int
    taker: str | None
    last: int
    asked: dict[str, tuple[int, int]] = field(default_factory=dict)
    answered: set[str] = field(default_factory=set)
    against: dict[str, str] = field(default_factory=dict)
    words: frozenset[str] = frozenset()
    learnt: frozenset[str] = frozenset()
    objections: bool = False
    replied: set[str] = field(default_factory=set)
    named: str | None = None
    decided: int | None = None

    def ask(self, station: str, turn: int, token: int) -> None:
        """The last asking stands until it is answered."""
        if station not in self.answered or station not in self.asked:
            self.asked[station] = turn, token
        self.last = turn

    def open(self, turn: int) -> bool:
        waits = not self.answered or bool(self.against) or not self.answered.issuperset(self.asked)
        return self.decided is None and turn - self.last <= (_PATIENCE if waits else _ANSWERED)

    def late(self, turn: int) -> bool:
        return self.decided is not None and turn - self.decided <= _LATE_TURNS

    def stances(self) -> frozenset[str]:
        """Words that answer this poll: its own, and their like once several are asked how they stand."""
        own = self.learnt | self.words & STANCES | (NO_OBJECTION if self.objections else frozenset())
        return own | _FIRM if own and len(self.asked) > 1 else own

"""The talk of one session as extractors see it: turns in conversation order, with numbers and times read once.

Extractors claim the tokens of numbers that they have explained, so that no number is told twice as two things.
"""
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from ..records.rows import Part, Role
from ..records.talk import Number, SpokenTime, Turn
from ..session import Session
from ..timebase import Span
from ..wording.spoken_times import read_times
from .parameter_words import HEADS
from .pauses import numbers_of

_NO_EVENTS = frozenset("is are was reads reading showing shows now about at to vertical horizontal lateral "
                       "inside outside upper lower inner outer port starboard front rear".split())


@dataclass
class Talk:
    """turns: all of them, commentary included (extractors skip those); claims: (turn index, token index) -> kind of row."""

    turns: Sequence[Turn]
    session: Session = field(default_factory=Session)
    claims: dict[tuple[int, int], str] = field(default_factory=dict)

    @cached_property
    def numbers(self) -> tuple[tuple[Number, ...], ...]:
        """Numbers of each turn, by turn index."""
        return tuple(map(numbers_of, self.turns))

    @cached_property
    def times(self) -> tuple[tuple[SpokenTime, ...], ...]:
        """Spoken times of each turn, by turn index."""
        return tuple(tuple(time for time in read_times([token.text for token in turn.tokens], self.numbers[turn.index]) if not _reading(turn, time))
                     for turn in self.turns)

    def operational(self) -> Iterator[Turn]:
        """The turns that may give rows: all but commentary and what was set aside (copies of talk on another loop)."""
        return (turn for turn in self.turns if not turn.commentary and not turn.set_aside)

    def claim(self, turn: Turn, start: int, end: int, kind: str) -> None:
        for index in range(start, end):
            self.claims.setdefault((turn.index, index), kind)

    def claimed(self, turn: Turn, start: int, end: int) -> str | None:
        """The kind that claimed any of these tokens, or None."""
        return next((self.claims[turn.index, i] for i in range(start, end) if (turn.index, i) in self.claims), None)


def _reading(turn: Turn, time: SpokenTime) -> bool:
    """'Superheat is plus six', 'trim plus two', 'outside plus four': a reading with its sign, and no time since something."""
    before = turn.tokens[time.start - 1].norm if time.start and turn.tokens[time.start].norm == "plus" else ""
    hundreds = any(token.norm in ("hundred", "thousand") for token in turn.tokens[time.start:time.end])
    return (time.bare or hundreds) and (before in HEADS or before in _NO_EVENTS)


def part(turn: Turn, role: Role, start: int = 0, end: int | None = None) -> Part:
    """Evidence: tokens [start, end) of a turn (all of it by default), with the sound behind them."""
    chosen = turn.tokens[start:end] or turn.tokens
    spans = [token.span for token in chosen if token.span is not None]
    span: Span | None = spans[0].hull(spans[-1]) if spans else turn.span
    start_s = turn.start_s
    if start_s is not None and spans and turn.span is not None:
        start_s += spans[0].start_s - turn.span.start_s
    same = bool(chosen) and chosen[0].segment == chosen[-1].segment
    return Part(role, " ".join(token.text for token in chosen), chosen[0].segment if chosen else None,
                chosen[0].word if chosen else None, chosen[-1].word if same else None,
                turn.source, span, turn.line_index, start_s)

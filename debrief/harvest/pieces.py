"""Pieces of turns to be asked about: a few words with the sound behind them, short enough to weigh, long enough to hold a frame."""
from collections.abc import Iterator
from dataclasses import dataclass

from ..records.talk import Number, Token, Turn
from ..timebase import Span
from .talk import Talk

LONGEST_S, SHORTEST_S = 8.0, 0.8
PAUSE_S, SENTENCE_PAUSE_S = 0.9, 0.3
PAD_S = 0.15


@dataclass(frozen=True, slots=True)
class Piece:
    """Tokens [start, end) of a turn. numbers: those inside, counted from the turn's first token."""

    turn: Turn
    start: int
    end: int
    numbers: tuple[Number, ...]

    @property
    def tokens(self) -> tuple[Token, ...]:
        return self.turn.tokens[self.start:self.end]

    @property
    def words(self) -> tuple[str, ...]:
        return tuple(token.norm for token in self.tokens)

    @property
    def heard(self) -> str:
        return " ".join(token.heard for token in self.tokens)

    @property
    def text(self) -> str:
        return " ".join(token.text for token in self.tokens)

    @property
    def span(self) -> Span:
        """Sound from the first word to the last, PAD_S more at either side."""
        first, last = self.tokens[0].span, self.tokens[-1].span
        if first is None or last is None:
            raise ValueError("a piece without sound")
        return Span.of_seconds(max(0.0, first.start_s - PAD_S), max(last.end_s, first.end_s) + PAD_S)

    @property
    def probability(self) -> float:
        """The lowest word probability; 1 where none is known."""
        return min((token.probability for token in self.tokens if token.probability is not None), default=1.0)


def pieces_of(talk: Talk) -> Iterator[Piece]:
    """Pieces of every turn that may give rows and has sound for all its words, in order; each word lies in one piece."""
    for turn in talk.operational():
        if turn.tokens and turn.source is not None and all(token.span for token in turn.tokens):
            numbers = talk.numbers[turn.index]
            for start, end in _cuts(turn, {i for n in numbers for i in range(n.start + 1, n.end)}):
                yield Piece(turn, start, end, tuple(n for n in numbers if start <= n.start and n.end <= end))


def _cuts(turn: Turn, inside: set[int]) -> list[tuple[int, int]]:
    """Borders at long pauses, and at shorter ones behind a sentence; never inside a number; short pieces join the one before."""
    cuts: list[tuple[int, int]] = []
    start = 0
    for index in range(1, len(turn.tokens) + 1):
        if index == len(turn.tokens) or (index not in inside and _border(turn.tokens, start, index)):
            cuts.append((start, index))
            start = index
    return _joined(turn.tokens, cuts)


def _border(tokens: tuple[Token, ...], start: int, index: int) -> bool:
    gap = _start(tokens[index]) - _end(tokens[index - 1])
    length = _end(tokens[index]) - _start(tokens[start])
    return gap > PAUSE_S or (tokens[index - 1].ends_sentence and gap > SENTENCE_PAUSE_S) or length > LONGEST_S


def _joined(tokens: tuple[Token, ...], cuts: list[tuple[int, int]]) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    for start, end in cuts:
        if found and _end(tokens[end - 1]) - _start(tokens[start]) < SHORTEST_S and \
                _end(tokens[end - 1]) - _start(tokens[found[-1][0]]) <= LONGEST_S and \
                _start(tokens[start]) - _end(tokens[found[-1][1] - 1]) <= PAUSE_S:
            found[-1] = (found[-1][0], end)
        else:
            found.append((start, end))
    return found


def _start(token: Token) -> float:
    return token.span.start_s if token.span else 0.0


def _end(token: Token) -> float:
    return token.span.end_s if token.span else 0.0

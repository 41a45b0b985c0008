"""Numbers of a turn, none of them across a pause in the sound.

"Fifty ... forty six" is two values, though its words without their pause are one number. A pause between two words that are plain digits is
often only slow spelling, so it must be longer.
"""
from collections.abc import Iterator
from dataclasses import replace

from ..records.talk import Number, Token, Turn
from ..wording.spoken_numbers import read_numbers

PAUSE_S, SPELLING_PAUSE_S = 0.28, 0.6
_DIGITS = frozenset("zero oh o one two three four five six seven eight nine niner fife tree fower".split())


def numbers_of(turn: Turn) -> tuple[Number, ...]:
    """Spoken numbers in order; tokens without sound are read as they stand."""
    found: list[Number] = []
    start = 0
    for stop in (*_breaks(turn), len(turn.tokens)):
        found += [replace(number, start=number.start + start, end=number.end + start)
                  for number in read_numbers([token.text for token in turn.tokens[start:stop]])]
        start = stop
    return tuple(found)


def _breaks(turn: Turn) -> Iterator[int]:
    """Indexes of the tokens before which a number must end."""
    for index in range(1, len(turn.tokens)):
        before, after = turn.tokens[index - 1], turn.tokens[index]
        if before.span is None or after.span is None:
            continue
        spelt = before.norm in _DIGITS and after.norm in _DIGITS
        if after.span.start_s - before.span.end_s >= (SPELLING_PAUSE_S if spelt and not _ends(before) else PAUSE_S):
            yield index


def _ends(token: Token) -> bool:
    return token.ends_sentence

"""Segments to tokens: what was heard, what it is read as, and why. No correction touches a number word."""
from ..records.sound import Segment
from ..records.talk import Token


def read_as(segment: Segment) -> tuple[Token, ...]:
    """The segment's words as tokens."""
    return tuple(Token(word.text, word.text, segment.segment, index, word.span, word.probability)
                 for index, word in enumerate(segment.words))

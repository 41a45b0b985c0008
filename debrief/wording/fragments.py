"""Recognisers write some words in pieces ("20" ".7", "o" "'clock", "1" ",900"): pieces that belong together become one token."""
import re
from collections.abc import Sequence

from ..records.talk import Token

_TAIL = re.compile(r"[.,:/][0-9]|[\-'’][A-Za-z0-9]|%")
_ENDED = re.compile(r"[.,?!;:…]$")


def joined(tokens: Sequence[Token]) -> tuple[Token, ...]:
    """Tokens with their tails joined on. Only words with sound behind them: in typed text a dash may be a pause."""
    found: list[Token] = []
    for token in tokens:
        if found and token.span and found[-1].span and _TAIL.match(token.text) and not _ENDED.search(found[-1].text):
            found[-1] = _one(found[-1], token)
        else:
            found.append(token)
    return tuple(found)


def _one(first: Token, tail: Token) -> Token:
    span = first.span.hull(tail.span) if first.span and tail.span else first.span
    known = [token.probability for token in (first, tail) if token.probability is not None]
    return Token(first.text + tail.text, first.heard + tail.heard, first.segment, first.word, span, min(known, default=None), first.why)


_WHOLE = ("eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety "
          "hundred thousand decimal point").split()
_SHORTEST = 4


def part_of_number_word(word: str) -> bool:
    """'twent', 'fiftee', 'hundre': a number word with its end cut off; it is read as no number, and makes numbers beside it doubtful."""
    return len(word) >= _SHORTEST and word.isalpha() and any(whole != word and whole.startswith(word) and len(whole) - len(word) <= 2 for whole in _WHOLE)

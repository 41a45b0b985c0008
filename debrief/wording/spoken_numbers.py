"""Spoken numbers."""
from collections.abc import Sequence
from decimal import Decimal

from ..records.talk import Number


def read_numbers(words: Sequence[str]) -> tuple[Number, ...]:
    """Every number in words (punctuation kept), in order, never overlapping."""
    found = []
    for index, word in enumerate(words):
        text = word.strip(".,?!;:")
        if text.replace(".", "", 1).isdigit():
            found.append(Number(index, index + 1, Decimal(text), text, "figures"))
    return tuple(found)

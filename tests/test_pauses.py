"""A number is not read across a pause in the sound."""
import pytest

from debrief.harvest.pauses import numbers_of
from debrief.records.sound import Source
from debrief.records.talk import Token, Turn
from debrief.timebase import Span


def turn(*words):
    """Words of 0.3 s; a figure among them is a pause of so many seconds."""
    tokens, at = [], 1.0
    for word in words:
        if isinstance(word, float):
            at += word
        else:
            tokens.append(Token(word, word, "s", len(tokens), Span.of_seconds(at, at + 0.3)))
            at += 0.3
    return Turn(0, tuple(tokens), source=Source("r1"), span=Span.of_seconds(1.0, at))


@pytest.mark.parametrize(("words", "values"), [
    (("fifty", 0.4, "forty", "six"), ["50", "46"]),
    (("twenty", "three", "fifty"), ["2350"]),
    (("one", 0.35, "four", "zero"), ["140"]),          # slow spelling
    (("one", 0.8, "four", "zero"), ["1", "40"]),
    (("two.", 0.35, "Five"), ["2", "5"]),               # a sentence ends
    (("three", "point", "five", 0.3, "ten"), ["3.5", "10"]),
])
def test_a_pause_parts_numbers(words, values):
    given = turn("speed", "is", *words)
    numbers = numbers_of(given)
    assert [f"{number.value.normalize():f}" for number in numbers] == values
    assert numbers[0].start == 2
    assert numbers[-1].end == len(given.tokens)


def test_words_without_sound_are_read_as_they_stand():
    tokens = tuple(Token(word, word, "s", at) for at, word in enumerate("fifty forty six".split()))
    assert len(numbers_of(Turn(0, tokens))) == 1

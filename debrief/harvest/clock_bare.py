"""Clock calls without a unit: 'plus two', 'plus four thirty' at the head of a turn, 'shot minus five'. Common practice, no source.

Only where a clock runs, or the word before 'minus' is the name of one that counts down: elsewhere such a number is a reading with its sign.
"""
from decimal import Decimal

from ..records.talk import Number, SpokenTime, Turn
from .clock_names import ClockBook, content
from .talk import Talk

_MINUTE, _LONGEST = 60, 3


def bare_call(talk: Talk, book: ClockBook, turn: Turn) -> SpokenTime | None:
    """The time that a turn calls in such a form, in minutes (or minutes and seconds); None where it calls none."""
    words = [token.norm for token in turn.tokens]
    for index, word in enumerate(words):
        if word == "plus" and index == 0 and _runs(book) and not _asked(talk, turn):
            return _time(talk, turn, index, "elapsed")
        if word == "minus" and index and _names_a_count(book, words[index - 1]):
            return _time(talk, turn, index, "countdown")
    return None


def _runs(book: ClockBook) -> bool:
    return any(clock.started and not clock.held for clock in book.clocks)


def _asked(talk: Talk, turn: Turn) -> bool:
    before = next((other for other in reversed(talk.turns[:turn.index]) if not other.commentary and not other.set_aside), None)
    return before is not None and before.text.rstrip().endswith("?")


def _names_a_count(book: ClockBook, word: str) -> bool:
    return any(clock.down and set(content([word])) & clock.stems for clock in book.clocks)


def _time(talk: Talk, turn: Turn, index: int, kind: str) -> SpokenTime | None:
    """The number behind the sign; a second one of two digits is seconds ('plus 4 30'), as are the last two of three ('plus four thirty')."""
    numbers = {number.start: number for number in talk.numbers[turn.index]}
    number = numbers.get(index) or numbers.get(index + 1)
    if number is None or number.value_high is not None or "." in number.text or not number.text.lstrip("-").isdigit():
        return None
    tail = numbers.get(number.end)
    minutes, seconds, end = _parted(number)
    if seconds is None and tail is not None and len(tail.text) == 2 and tail.text.isdigit() and tail.value < _MINUTE:
        seconds, end = int(tail.value), tail.end
    if len(str(minutes)) >= _LONGEST or talk.claimed(turn, index, end):
        return None
    talk.claim(turn, index, end, "clock_calls")
    others = () if seconds is not None else (Decimal(minutes),)
    return SpokenTime(index, end, kind, Decimal(minutes * _MINUTE + (seconds or 0)), None, None, False, seconds is None, others)  # type: ignore[arg-type]


def _parted(number: Number) -> tuple[int, int | None, int]:
    digits = number.text.lstrip("-")
    if len(digits) == _LONGEST and int(digits[1:]) < _MINUTE:
        return int(digits[0]), int(digits[1:]), number.end
    return int(digits), None, number.end

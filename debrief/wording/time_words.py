"""The words of one turn as the readers of spoken times see them."""
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from ..records.talk import Number


@dataclass(frozen=True, slots=True)
class TimeWords:
    """The words of one turn, plain, with what ends a clause, and numbers by the word they start at."""

    plain: tuple[str, ...]
    raw: tuple[str, ...]
    numbers: dict[int, Number]
    taken: frozenset[int]

    @classmethod
    def of(cls, words: Sequence[str], numbers: Sequence[Number]) -> "TimeWords":
        """numbers: read_numbers of the same words; taken: the words that are part of one."""
        taken = frozenset(word for number in numbers for word in range(number.start, number.end))
        return cls(tuple(plain_time_word(word) for word in words), tuple(words), {number.start: number for number in numbers}, taken)

    def at(self, index: int) -> str:
        return self.plain[index] if 0 <= index < len(self.plain) else ""

    def breaks(self, index: int) -> bool:
        """True where punctuation stands behind this word."""
        return 0 <= index < len(self.raw) and self.raw[index][-1:] in ".,;:?!"

    def starts(self, index: int, phrases: tuple[tuple[str, ...], ...]) -> bool:
        return any(self.plain[index:index + len(phrase)] == phrase for phrase in phrases)


def plain_time_word(word: str) -> str:
    return word.strip("\"'“”‘’()[]").rstrip(".,;:?!…—-").lower()


def plainly(value: Decimal) -> Decimal:
    """The same value without places that say nothing (Decimal('90.0') -> Decimal('90'))."""
    return Decimal(int(value)) if value == value.to_integral_value() else value.normalize()

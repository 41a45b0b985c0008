"""The values of one parameter in order: what a value is held against."""
import re
from dataclasses import dataclass, field
from functools import cached_property
from statistics import median

_BEYOND = re.compile(r"^(-?[\d.]+) (.*?) ?is above the limit of (-?[\d.]+) ?(.*)$")


@dataclass
class Series:
    """The sizes of one parameter's values in order, their turns, and at which place of the series each row (by its position) stands."""

    values: list[float] = field(default_factory=list)
    turns: list[int | None] = field(default_factory=list)
    places: dict[int, int] = field(default_factory=dict)

    def add(self, position: int, turn: int | None, size: float) -> None:
        self.places[position] = len(self.values)
        self.values.append(size)
        self.turns.append(turn)

    @cached_property
    def usual(self) -> float:
        return median(self.values)

    def run(self, place: int) -> tuple[int, int]:
        """The places [first, last) of the values of the same turn."""
        first = last = place
        while first and self.turns[first - 1] == self.turns[place]:
            first -= 1
        while last < len(self.turns) and self.turns[last] == self.turns[place]:
            last += 1
        return first, last


def times_beyond(why: str) -> bool:
    """Whether a reason to look says 'A unit is above the limit of B unit' with A more than twice B; two units are not held against each other."""
    found = _BEYOND.match(why)
    if found is None or found[2] and found[4] and found[2] != found[4]:
        return False
    return float(found[1]) > 2 * float(found[3]) > 0

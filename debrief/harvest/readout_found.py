"""A readout before it becomes a row, what was read out so far, and what bare numbers rather are."""
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from ..records.talk import Number, Turn
from ..units import dimension_of
from .no_values import could_be_rating, is_called_step
from .parameter_words import HEADS, WEAK_HEADS
from .plan_book import Aim, PlanBook, Planned
from .readout_phrases import Phrase, head_word
from .readout_units import SpokenUnit, UnitMemory
from .view import View

CARRY_TURNS = 80
NEAR_TURNS = 4
NO_NAME = "no unit and no known parameter"
BY_UNIT = "named by its unit"


@dataclass(frozen=True, slots=True)
class Found:
    """One readout before it becomes a row. how: what ties the parameter to the value, '' = its own words."""

    number: Number
    end: int
    words: tuple[str, ...]
    unit: SpokenUnit | None
    phrase: Phrase | None = None
    planned: Planned | None = None
    subject: str | None = None
    how: str = ""
    doubt: tuple[str, ...] = ()
    sort: str = "measured"
    superseded: bool = False
    given_unit: str | None = None

    @property
    def head(self) -> str | None:
        return head_word(self.words)

    @property
    def dimension(self) -> str | None:
        """What is measured, by the parameter's head or plan, else by the spoken unit."""
        if self.planned and self.planned.unit:
            return dimension_of(self.planned.unit)
        head = self.head
        if head and HEADS[head].dimension and head not in WEAK_HEADS:
            return HEADS[head].dimension
        return dimension_of(self.given_unit) or (dimension_of(self.unit.names[0]) if self.unit else HEADS[head].dimension if head else None)


@dataclass
class Memory:
    """What was read out so far, in order, and the units in use. due: what the open card asks to be read out;

    aims: values that its steps ask for, with their units (they name parameters, and are never told as values); asked_else: whether another
    station has just asked for a reading, and not for one again.
    """

    units: UnitMemory
    plan: PlanBook
    steps: frozenset[str] = frozenset()
    named: dict[int, frozenset[Decimal]] = field(default_factory=dict)
    said: list[tuple[Turn, Found]] = field(default_factory=list)
    due: tuple[Planned, ...] = ()
    before: frozenset[str] = frozenset()
    asked_else: bool = False
    aims: Mapping[Decimal, Aim] = field(default_factory=dict)
    last_of: dict[str | None, list[tuple[Turn, Found]]] = field(default_factory=dict)

    def add(self, turn: Turn, found: Found) -> None:
        self.said.append((turn, found))
        self.last_of.setdefault(turn.station, []).append((turn, found))

    def own(self, turn: Turn, within: int = CARRY_TURNS) -> list[tuple[Turn, Found]]:
        """What this station read out in its last turns, latest first; of nobody known, what anybody did."""
        source = self.last_of.get(turn.station, []) if turn.station else self.said[-12:]
        within = within if turn.station else NEAR_TURNS
        return [(other, found) for other, found in reversed(source[-40:]) if turn.index - other.index <= within]

    def near(self, turn: Turn, within: int = NEAR_TURNS) -> list[tuple[Turn, Found]]:
        """What anybody read out in the last turns, latest first."""
        return [(other, found) for other, found in reversed(self.said[-60:]) if turn.index - other.index <= within]


@dataclass(frozen=True, slots=True)
class BareNumbers:
    """What numbers that name no parameter are rather than readouts: ratings and names told again, digits of steps."""

    ratings: frozenset[Decimal] = frozenset()
    most: Decimal = Decimal(20)
    names: frozenset[Decimal] = frozenset()
    times: frozenset[Decimal] = frozenset()
    steps: frozenset[str] = frozenset()
    time_asked: bool = False

    def rates(self, number: Number) -> bool:
        return could_be_rating(number, self.ratings, self.most)

    def explain(self, number: Number, view: View) -> bool:
        """Whether the number, as it stands alone, is one of these."""
        told = {number.value, *number.others, *((number.value_high,) if number.value_high is not None else ())}
        clock = self.time_asked and len(number.text) in (3, 4) and "." not in number.text
        return self.rates(number) or bool(told & (self.names | self.times)) or clock or is_called_step(number, self.steps, view)

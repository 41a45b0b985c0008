"""Rows: what the talk says, each field with its origin and certainty, each row with its evidence."""
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Literal

from ..timebase import Span
from .sound import Source

Origin = Literal["spoken", "carried", "plan", "assumed", "person"]
Certainty = Literal["heard by a person", "repeated", "clear", "doubtful"]
CERTAINTIES: tuple[Certainty, ...] = ("heard by a person", "repeated", "clear", "doubtful")
Role = Literal[
    "value", "unit", "parameter", "subject", "rater", "axis", "condition", "question", "answer", "said", "read back",
    "clock", "text", "closing", "resolution", "correction", "same as", "searched and absent",
]
FieldValue = Decimal | str | bool | int | float | None | Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Part:
    """One piece of evidence: words [first_word, last_word] of a segment, as heard, and the sound behind them.

    span is None where no sound is known (a transcript without times). For 'searched and absent' it is the stretch searched.
    """

    role: Role
    text: str
    segment: str | None = None
    first_word: int | None = None
    last_word: int | None = None
    source: Source | None = None
    span: Span | None = None
    line_index: int | None = None
    start_s: float | None = None


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a row. part: index of its evidence part (spoken fields have one); why: grounds, in words a user reads."""

    value: FieldValue
    origin: Origin = "spoken"
    certainty: Certainty = "clear"
    part: int | None = None
    why: tuple[str, ...] = ()
    others: tuple[FieldValue, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One row. number is given by the store, permanent, never reused; witnesses are kept apart ('weighing margin' -> 3.1).

    kind is the name of its table (records/kinds.py). evidence[0] is the place of the row. look: why a person should look,
    apart from certainty. doubt: grounds that lower the whole row.
    """

    kind: str
    fields: Mapping[str, Field]
    evidence: tuple[Part, ...]
    loop: str | None = None
    station: str | None = None
    turn: int | None = None
    look: tuple[str, ...] = ()
    doubt: tuple[str, ...] = ()
    witnesses: Mapping[str, float | str] = field(default_factory=dict)
    number: int | None = None

    def __post_init__(self) -> None:
        if not self.evidence:
            raise ValueError(f"a row of {self.kind} without evidence")
        for name, item in self.fields.items():
            if item.part is not None and not 0 <= item.part < len(self.evidence):
                raise ValueError(f"{self.kind}.{name} points at evidence part {item.part} of {len(self.evidence)}")

    @property
    def place(self) -> Part:
        return self.evidence[0]

    @property
    def certainty(self) -> Certainty:
        """The lowest certainty of its fields; doubtful where the whole row is in doubt."""
        if self.doubt:
            return "doubtful"
        return max((item.certainty for item in self.fields.values()), key=CERTAINTIES.index, default="clear")

    def get(self, name: str) -> FieldValue:
        """The value of a field; None when the row has no such field."""
        item = self.fields.get(name)
        return None if item is None else item.value

    def with_fields(self, **fields: Field) -> "Row":
        return replace(self, fields={**self.fields, **fields})

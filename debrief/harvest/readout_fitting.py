"""One turn's values and what they can be of: by unit, by size, by what stands around them."""
from collections.abc import Sequence
from functools import cached_property

from ..records.talk import Number
from ..units import dimension_of
from .parameter_words import HEADS, possible
from .readout_found import BareNumbers, Found, Memory
from .readout_phrases import Phrase, TurnTerms, head_word
from .readout_units import SpokenUnit, spoken_unit
from .view import View


class Fitting:
    """One turn's values. asked: parameters that the question before asks for, in order; kept: what is bound so far."""

    def __init__(self, view: View, terms: TurnTerms, memory: Memory, asked: Sequence[Phrase], bare: BareNumbers) -> None:
        self.view, self.terms, self.memory, self.asked, self.bare = view, terms, memory, list(asked), bare
        self.kept: list[Found] = []
        self.used = 0

    @cached_property
    def unmarked(self) -> bool:
        """Whether the turn is written without any punctuation inside it, as a recogniser may write."""
        return not any(token.ends_clause for token in self.view.turn.tokens[:-1])

    def _clause(self, number: Number) -> tuple[int, int]:
        start, stop = self.view.clause(number.start)
        while start > 0 and self.view.turn.tokens[start - 1].text.endswith(("...", "…")):
            start = self.view.clause(start - 1)[0]
        return start, max(stop, number.end)

    @staticmethod
    def _ratio(made: Found, found: Found) -> float:
        one, two = abs(float(made.number.value)), abs(float(found.number.value))
        return max(one, two) / min(one, two) if one and two else (1.0 if one == two else 9.0)

    def _unit_ahead(self, number: Number) -> SpokenUnit | None:
        """The unit of the value that ends a list ('five, nine, twelve. Stopped at twelve metres')."""
        for other in (n for n in self.terms.values.values() if n.start >= number.end):
            unit = spoken_unit(self.view, other.start, other.end)
            if unit is not None:
                return unit if dimension_of(unit.names[0]) != "time" and other.start - number.end <= 12 and other.value >= number.value / 4 else None
        return None

    def _possible(self, made: Found, words: Sequence[str], unit: str | None = None) -> bool:
        """Whether a thing of this name can have the value."""
        head = head_word(words)
        return possible(unit or (HEADS[head].unit if head is not None else None), made.number.value)

    def _same_unit(self, unit: SpokenUnit, found: Found) -> bool:
        return found.unit is None and self._fits(unit, found) or (found.unit is not None and bool(set(unit.names) & set(found.unit.names)))

    def _fits(self, unit: SpokenUnit, found: Found) -> bool:
        """Whether a value in this unit can be of that parameter."""
        dimension = found.dimension
        mine = {dimension_of(name) for name in unit.names}
        amounts = {"volume", "mass", "length"} if found.head in ("quantity", "level", "water") else {"volume", "mass"}
        alike = {"ratio": amounts, "force": {"mass"}, "mass": {"force"}}.get(dimension or "", set())
        if found.unit is not None and found.unit.names != unit.names and dimension_of(found.unit.names[0]) not in mine:
            return False
        if dimension is None:
            return found.given_unit is None and found in self.kept
        return dimension in mine or bool(mine & alike)

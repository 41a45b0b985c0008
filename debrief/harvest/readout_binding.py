"""Binding of values to parameters in one turn: own words first, then the list that goes on, the question asked, what was told before.

Each value leans on less the more it says itself. Grounds that are guesses are kept as doubt, in words a user reads.
"""
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from ..records.talk import Number, Turn
from ..units import dimension_of
from .no_values import could_be_rating, is_called_step
from .parameter_words import HEADS, WEAK_HEADS
from .readout_class import corrects, supposed, value_class
from .readout_phrases import Phrase, PlanBook, Planned, TurnTerms, head_word, is_head, joined
from .readout_units import SpokenUnit, UnitMemory, spoken_unit
from .readout_words import AFTER_VALUE, HEDGES, READING_VERBS
from .view import View

CARRY_TURNS = 80
NEAR_TURNS = 4


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
    """What was read out so far, in order, and the units in use."""

    units: UnitMemory
    plan: PlanBook
    steps: frozenset[str] = frozenset()
    named: dict[int, frozenset[Decimal]] = field(default_factory=dict)
    said: list[tuple[Turn, Found]] = field(default_factory=list)
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
    names: frozenset[Decimal] = frozenset()
    steps: frozenset[str] = frozenset()

    def explain(self, number: Number, view: View) -> bool:
        return (could_be_rating(number, self.ratings) or number.value in self.names or number.value_high in self.names
                or is_called_step(number, self.steps, view))


class Binder:
    """One turn's values, in order. asked: parameters that the question before asks for, in order."""

    def __init__(self, view: View, terms: TurnTerms, memory: Memory, asked: Sequence[Phrase], bare: BareNumbers) -> None:
        self.view, self.terms, self.memory, self.asked, self.bare = view, terms, memory, list(asked), bare
        self.kept: list[Found] = []

    def bind(self, numbers: Sequence[Number]) -> list[Found]:
        """Every value that is a readout."""
        for number in numbers:
            found = self._found(number)
            if found is None or self._said_already(found):
                continue
            before = self.kept[-1] if self.kept else None
            if before is not None and corrects(self.view, before.end, number.start) and self._alike(before, found):
                self.kept.pop()
                found = replace(found, words=before.words, planned=before.planned, subject=before.subject) if found.how else found
            self.kept.append(found)
        return self.kept

    # one value

    def _found(self, number: Number) -> Found | None:
        view = self.view
        start, stop = self._clause(number)
        if self._asks(number) or supposed(view, start, number.start) or self._repeated(number):
            return None
        unit = spoken_unit(view, number.start, number.end)
        if unit is not None and dimension_of(unit.names[0]) == "time":
            return None
        end = unit.end if unit else number.end
        made = Found(number, end, (), unit, sort=value_class(view, number.start, start, stop))
        before = self.terms.before(self._low(number), number.start)
        behind = self.terms.behind(end, self._stop(number))
        if unit is None and (self._counts(number, behind) or self._wished_zero(number, before, behind)):
            return None
        return self._checked(self._by_words(made, before, behind))

    def _low(self, number: Number) -> int:
        """Where the words of this value may begin: behind the value before."""
        return max((n.end for n in self.terms.values.values() if n.end <= number.start), default=0)

    def _stop(self, number: Number) -> int:
        return min((n for n in self.terms.values if n >= number.end), default=len(self.view.words))

    def _clause(self, number: Number) -> tuple[int, int]:
        start, stop = self.view.clause(number.start)
        while start > 0 and self.view.turn.tokens[start - 1].text.endswith(("...", "…")):
            start = self.view.clause(start - 1)[0]
        return start, max(stop, number.end)

    def _asks(self, number: Number) -> bool:
        _, stop = self.view.sentence(number.start)
        tail = self.view.words[stop - 1]
        return self.view.turn.tokens[stop - 1].text.rstrip("\"'").endswith("?") and tail not in ("right", "correct", "it", "huh", "okay")

    def _repeated(self, number: Number) -> bool:
        """'... 120 over 80, repeat 120 over 80'."""
        since = next((i for i in range(number.start - 1, -1, -1) if self.view.words[i] in ("repeat", "repeating")), None)
        return since is not None and any(found.number.value == number.value and found.end <= since for found in self.kept)

    def _counts(self, number: Number, behind: Phrase | None) -> bool:
        """'three bolts', 'two divers': a count of things, and no value of an instrument."""
        after = self.view.words[number.end] if number.end < len(self.view.words) else ""
        if self.view.turn.tokens[number.end - 1].ends_clause or not after or after in AFTER_VALUE or after in READING_VERBS:
            return False
        if number.end in self.terms.values or not any(c.isalpha() for c in after) or "." in number.text:
            return False
        near = range(number.end, min(number.end + 4, len(self.view.words)))
        follows = any(is_head(self.view.words[i], self.memory.plan) for i in near)
        return (behind is None and not follows) or (behind is not None and behind.head is None)

    def _wished_zero(self, number: Number, before: Phrase | None, behind: Phrase | None) -> bool:
        """'I've got zero yaw', 'for zero attitude': a condition wanted or had, in words, and no reading of an instrument."""
        direct = behind is not None and behind.start == number.end and behind.head is not None
        return number.value == 0 and direct and not (before and before.head and before.link in ("verb", "dash"))

    def _by_words(self, made: Found, before: Phrase | None, behind: Phrase | None) -> Found | None:
        """Own words: a known head before, a known head behind, words of contrast, then weaker grounds."""
        if before is not None and before.words and not before.contrast:
            planned = self._planned(before, behind)
            if before.head is not None or planned is not None:
                return self._named(made, before, behind, planned)
        if behind is not None and (behind.head is not None or self._planned(behind, None)) and self._tells(made, before, behind):
            return self._named(made, behind, None, self._planned(behind, None))
        if before is not None and before.contrast:
            return self._by_contrast(made, before)
        if behind is not None and behind.contrast and made.unit is None and self.kept and self.kept[-1].words and not (before and before.words):
            return self._by_contrast(made, behind)
        if before is not None and before.words:
            return self._weak(made, before, behind)
        subject = before.subject if before is not None and before.topic else behind.subject if behind is not None else None
        return self._told_before(replace(made, subject=subject, phrase=None), before)

    def _tells(self, made: Found, before: Phrase | None, behind: Phrase) -> bool:
        """Whether a phrase behind names the parameter: 'on the hose' without a unit only tells where."""
        place = behind.start > made.end and self.view.words[made.end] in ("on", "at", "in", "from")
        return (made.unit is not None or not place) and (made.unit is not None or not (before and before.words))

    def _planned(self, phrase: Phrase, behind: Phrase | None) -> Planned | None:
        words = (*phrase.words, *(behind.words if behind and (behind.contrast or behind.head) else ()))
        found = self.memory.plan.meant(words, phrase.subject) or self.memory.plan.meant(phrase.words, phrase.subject)
        head = phrase.head
        if found is None or head is None or HEADS[head].dimension is None or found.unit is None:
            return found
        theirs = dimension_of(found.unit)
        like = {"ratio": ("volume", "mass"), "mass": ("force",), "force": ("mass",)}.get(HEADS[head].dimension or "", ())
        strong = HEADS[head].dimension == theirs or theirs in like or head_word([*phrase.words[:-1]]) == head or len(phrase.words) > 1
        return found if strong else None

    def _named(self, made: Found, phrase: Phrase, behind: Phrase | None, planned: Planned | None) -> Found:
        words = phrase.words
        if behind is not None and behind.contrast and not set(behind.words) & set(words):
            words = (*words, *behind.words)
        subject = phrase.subject or (behind.subject if behind is not None else None)
        doubt = ("the parameter stands some words away",) if phrase.link == "far" and planned is None else ()
        return replace(made, words=words, phrase=phrase, planned=planned, subject=subject, doubt=doubt)

    def _by_contrast(self, made: Found, phrase: Phrase) -> Found | None:
        if made.unit is None and not self.kept and self.bare.explain(made.number, self.view):
            return None
        before = self.kept[-1] if self.kept else None
        if before is None or not before.words:
            earlier = self._earlier(phrase)
            if earlier is not None:
                return replace(made, words=earlier.words, phrase=phrase, planned=earlier.planned, subject=phrase.subject or earlier.subject,
                               how="told in full before")
            if phrase.link not in ("verb", "dash"):
                return self._told_before(made, phrase)
            return replace(made, words=phrase.words, phrase=phrase, doubt=("only a name, no parameter",))
        words = joined(phrase.words, before.words, before.head)
        planned = self.memory.plan.meant(words, phrase.subject)
        return replace(made, words=words, phrase=phrase, planned=planned, subject=phrase.subject, how="the parameter of the value before",
                       doubt=before.doubt)

    def _earlier(self, phrase: Phrase) -> Found | None:
        """The latest readout whose parameter holds these words of contrast ('backup' for 'backup bank')."""
        said = {word.lower() for word in phrase.words}
        return next((found for _, found in reversed(self.memory.said) if found.head and said <= {word.lower() for word in found.words}), None)

    def _weak(self, made: Found, before: Phrase, behind: Phrase | None) -> Found | None:
        """A name without a known head: it needs a reading verb, a unit, or a list around it."""
        listed = bool(self.kept) and made.number.start - self.kept[-1].end <= 8
        if made.unit is None and before.link == "pause" and not listed:
            return self._told_before(made, before)
        if made.unit is None and (could_be_rating(made.number, self.bare.ratings) or is_called_step(made.number, self.bare.steps, self.view)):
            return None
        strong = before.link in ("verb", "dash") or made.unit is not None or (listed and before.link in ("next", "pause"))
        if not strong and not (before.link in ("next", "pause") and "." in made.number.text):
            return None
        doubt = () if made.unit is not None or listed else ("no unit and no known parameter",)
        if made.unit is not None and before.link not in ("verb", "dash"):
            carried = self._carried(made)
            if carried is not None:
                return carried
        return replace(made, words=before.words, phrase=before, subject=before.subject, doubt=doubt)

    # values that name nothing themselves

    def _told_before(self, made: Found, before: Phrase | None) -> Found | None:
        if made.unit is None and self.bare.explain(made.number, self.view):
            return None
        listed = self._list_goes_on(made)
        alone = self._alone(made) or made.unit is not None or (before is not None and (before.pronoun or before.topic) and before.link == "verb")
        if listed is not None or not alone:
            return listed
        return (self._answer(made) or self._carried(made) or self._by_unit(made))

    def _alone(self, made: Found) -> bool:
        """Little else is said in the clause before the value."""
        start, _ = self._clause(made.number)
        return made.number.start - start <= 3

    def _list_goes_on(self, made: Found) -> Found | None:
        """'eight... ten... twelve', '25, 25, 25', '52 and 31.6'."""
        before = self.kept[-1] if self.kept else None
        if before is None or not before.words:
            return None
        between = self.view.words[before.end:made.number.start]
        near = len(between) <= 3 and all(word in HEDGES or word in ("and", "to", "now", "then", "or", "is", "over", "by", "i", "repeat", "coming",
                                                                    "up", "down", "at", "stopped", "") for word in between)
        if not near or (made.unit is not None and not self._same_unit(made.unit, before)):
            return None
        if "over" in between:
            return self._lower_of_pair(made, before)
        if made.unit is None and before.unit is None and self._ratio(made, before) > 20:
            return replace(made, how="the list goes on", doubt=("which parameter is not said",))
        return replace(made, words=before.words, planned=before.planned, subject=made.subject or before.subject, how="the list goes on")

    def _lower_of_pair(self, made: Found, before: Found) -> Found | None:
        """'120 over 80' is one blood pressure, told as two values."""
        if "blood" not in before.words and before.head not in ("systolic", "pressure"):
            return None
        stem = tuple(word for word in before.words if word.lower() != "systolic")
        self.kept[-1] = replace(before, words=(*stem, "systolic"), planned=None)
        return replace(made, words=(*stem, "diastolic"), subject=before.subject, how="the list goes on")

    def _answer(self, made: Found) -> Found | None:
        used = len([found for found in self.kept if found.how == "the question before"])
        left = self.asked[used:] or self.asked[-1:]
        for phrase in left:
            planned = self.memory.plan.meant(phrase.words, made.subject or phrase.subject)
            trial = Found(made.number, made.end, phrase.words, made.unit, planned=planned)
            if made.unit is None or self._fits(made.unit, trial):
                doubt = () if phrase.head or planned else ("the parameter is carried",)
                return replace(made, words=phrase.words, planned=planned, subject=made.subject or phrase.subject, how="the question before",
                               doubt=doubt)
        return None

    def _carried(self, made: Found) -> Found | None:
        """What this station read out last, else what was just asked to change; by unit and by size."""
        if made.sort == "target":
            return self._ordered(made)
        own = [(self.view.turn, found) for found in reversed(self.kept)] + self.memory.own(self.view.turn)
        fits = [(turn, found) for turn, found in own if self._could_be(made, found)]
        same = [(turn, found) for turn, found in fits if found.number.value == made.number.value and "still" in self._words_before(made)]
        for turn, found in same + fits:
            return replace(made, words=found.words, planned=found.planned, subject=made.subject or found.subject,
                           how="the speaker's last parameter", doubt=self._carry_doubt(made, found, turn))
        for other, found in self.memory.near(self.view.turn):
            if other.station != self.view.turn.station and found.words and self._could_be(made, found, order=found.sort != "measured"):
                doubt = () if found.sort != "measured" and (made.unit or self._ratio(made, found) < 2) else ("the parameter is carried",)
                return replace(made, words=found.words, planned=found.planned, subject=made.subject or found.subject,
                               how="what was just told or asked for", doubt=doubt)
        return None

    def _words_before(self, made: Found) -> tuple[str, ...]:
        return self.view.words[max(0, made.number.start - 3):made.number.start]

    def _ordered(self, made: Found) -> Found | None:
        """'Winch, take us to eighteen': what the station that is called, else anybody, last read out of that size."""
        called = {mention.station for mention in self.view.names} | {self.view.turn.addressee}
        said = [(turn, found) for turn, found in self.memory.near(self.view.turn, CARRY_TURNS) if self._could_be(made, found, order=True)]
        for turn, found in [item for item in said if item[0].station in called] + said:
            doubt = () if turn.station in called else ("the parameter is carried",)
            return replace(made, words=found.words, planned=found.planned, subject=found.subject, how="what is asked to change", doubt=doubt)
        return replace(made, how="what is asked to change", doubt=("the parameter is not named",)) if made.unit is None else None

    def _carry_doubt(self, made: Found, found: Found, turn: Turn) -> tuple[str, ...]:
        """Carried within a few turns, in the same unit or of much the same size, is clear where the speaker is known."""
        known = self.view.turn.station is not None and (found.head is not None or found.planned is not None)
        near = self.view.turn.index - turn.index <= NEAR_TURNS * 3
        alike = made.unit is not None and found.given_unit in made.unit.names or self._ratio(made, found) < 1.3
        return () if known and near and alike and not found.doubt else ("the parameter is carried",)

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

    def _could_be(self, made: Found, found: Found, order: bool = False) -> bool:
        if not found.words:
            return False
        ahead = None if made.unit is not None or self.kept else self._unit_ahead(made.number)
        if ahead is not None:
            return self._fits(ahead, found)
        if made.unit is not None:
            return self._fits(made.unit, found)
        return self._ratio(made, found) <= (4.0 if order else 2.5)

    def _same_unit(self, unit: SpokenUnit, found: Found) -> bool:
        return found.unit is None and self._fits(unit, found) or (found.unit is not None and bool(set(unit.names) & set(found.unit.names)))

    def _fits(self, unit: SpokenUnit, found: Found) -> bool:
        """Whether a value in this unit can be of that parameter."""
        dimension = found.dimension
        mine = {dimension_of(name) for name in unit.names}
        alike = {"ratio": {"volume", "mass", "length"}, "angle": {"temperature"}}.get(dimension or "", set())
        if dimension is None:
            return found.given_unit is None and found in self.kept
        return dimension in mine or bool(mine & alike - {"temperature"})

    def _by_unit(self, made: Found) -> Found | None:
        if made.unit is None:
            return None
        same = next((found for _, found in reversed(self.memory.said) if found.words and found.given_unit in made.unit.names), None)
        if same is not None:
            return replace(made, words=same.words, planned=same.planned, how="the last parameter in this unit", doubt=("the parameter is not named",))
        planned = [item for item in self.memory.plan.planned if item.unit in made.unit.names]
        names = {item.what for item in planned}
        if len(names) == 1:
            return replace(made, words=tuple(planned[0].what.split()), planned=planned[0], how="the plan's only parameter in this unit",
                           doubt=("the parameter is not named",))
        return replace(made, how="no parameter named", doubt=("the parameter is not named",))

    # checks on what was bound

    def _checked(self, found: Found | None) -> Found | None:
        if found is None:
            return None
        if found.number.others and not found.unit and found.number.form == "digits":
            found = self._fair_reading(found)
        bare = replace(found, unit=None)
        if found.unit is not None and found.words and bare.dimension and not self._fits(found.unit, bare) and found.planned is None:
            found = replace(found, doubt=(*found.doubt, "unit and parameter do not belong together"))
        return found

    def _fair_reading(self, found: Found) -> Found:
        """Of two fair readings the one near the same parameter's last value."""
        last = next((old for _, old in reversed(self.memory.said[-40:]) if old.words == found.words and found.words), None)
        options = (found.number.value, *found.number.others)
        if last is None or not last.number.value:
            return found
        best = min(options, key=lambda value: abs(float(value / last.number.value) - 1) if value else 9.0)
        near, far = (self._ratio(replace(found, number=replace(found.number, value=value)), last) for value in (best, found.number.value))
        if best == found.number.value or near > 1.5 or far < 3:
            return found
        others = tuple(value for value in options if value != best)
        return replace(found, number=replace(found.number, value=best, others=others), doubt=(*found.doubt, "two readings are fair"))

    def _said_already(self, found: Found) -> bool:
        """Said twice in one turn counts once."""
        for old in self.kept:
            same = old.number.value == found.number.value and old.number.value_high == found.number.value_high
            if same and (old.words == found.words or set(found.words) <= set(old.words)) and old.subject == found.subject \
                    and not self._one_of_list(old, found):
                return True
        return False

    def _one_of_list(self, old: Found, found: Found) -> bool:
        """'25, 25, 25' and '0.2 and 0.2' are several bearers with one value; 'three degrees right, three degrees right' is one."""
        between = [word for word in self.view.words[old.end:found.number.start] if word]
        return old.unit is None and found.unit is None and (not between or between == ["and"]) and found.how == "the list goes on"

    def _alike(self, before: Found, found: Found) -> bool:
        return found.words == before.words or bool(found.how) or not found.words or before.head == found.head


def order_of(items: Mapping[int, Number]) -> list[Decimal]:
    """The values of numbers in the order of their tokens."""
    return [items[start].value for start in sorted(items)]

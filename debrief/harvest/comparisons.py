"""Differences to an earlier run or another reading: 'eight degrees warmer than last time', 'two knots slower'. They are no readouts.

A difference is a number, with or without a unit, and a comparative behind it. Its sign follows the comparative; what is compared is
what the sentence, or the one before, is about.
"""
from collections.abc import Sequence

from ..records.rows import Field, Row
from ..records.talk import Number
from ..units import choose
from .plan_book import PlanBook
from .readout_phrases import TurnTerms
from .readout_units import SpokenUnit, spoken_unit
from .readout_words import PRONOUNS
from .talk import Talk, part
from .view import View, once, views

UP = {"warmer": "temperature", "hotter": "temperature", "higher": None, "more": None, "faster": "speed", "deeper": "length", "longer": "length",
      "heavier": "mass", "greater": None, "louder": None, "wider": "length", "up": None, "larger": None, "bigger": None, "taller": "length",
      "further": "length", "farther": "length", "above": None}
DOWN = {"cooler": "temperature", "colder": "temperature", "lower": None, "less": None, "slower": "speed", "shallower": "length", "shorter": "length",
        "lighter": "mass", "fewer": None, "smaller": None, "down": None, "narrower": "length", "below": None, "closer": "length", "under": None}
_LEADS = frozenset("than on from over compared".split())
_NEEDS_REFERENCE = frozenset("more less up down above below under".split())
_EARLIER = frozenset("last previous before yesterday earlier first second third run time morning afternoon baseline reference usual rig simulator "
                     "trainer test dive flight trial session other normal expected ground".split())


def comparisons(talk: Talk) -> list[Row]:
    """Rows of the table comparisons. Claims their numbers."""
    plan = once(talk, "_plan_book", lambda given: PlanBook(given.session))
    rows = []
    for turn in talk.operational():
        view = views(talk)[turn.index]
        for number in talk.numbers[turn.index]:
            if talk.claimed(turn, number.start, number.end) in (None, "times"):
                row = _comparison(view, number, plan, talk)
                if row is not None:
                    rows.append(row)
                    talk.claim(turn, number.start, number.end, "comparisons")
    return rows


def _comparison(view: View, number: Number, plan: PlanBook, talk: Talk) -> Row | None:
    unit = spoken_unit(view, number.start, number.end)
    at = unit.end if unit else number.end
    word = view.words[at] if at < len(view.words) else ""
    if word not in UP and word not in DOWN or view.turn.tokens[at - 1].ends_clause or _names_next(view, at):
        return None
    reference = _reference(view, at + 1)
    if reference is None and (word in _NEEDS_REFERENCE or view.asks(*view.sentence(number.start))):
        return None
    if reference is not None and word in _NEEDS_REFERENCE and not _EARLIER & set(view.words[reference[0]:reference[1]]):
        return None
    return _row(talk, view, (number, unit, at), reference, plan)


def _names_next(view: View, at: int) -> bool:
    """'Upper guide twenty lower guide eighteen': the word belongs to the name of the next value."""
    return not view.turn.tokens[at].ends_clause and any(at + ahead in view.numbers for ahead in (1, 2, 3)) and not _LEADS & set(view.words[at + 1:at + 3])


def _reference(view: View, start: int) -> tuple[int, int] | None:
    """'than last time', 'on this morning': from the word behind the lead to the clause's end."""
    if start >= len(view.words) or view.words[start] not in _LEADS:
        return None
    first = start + 1
    stop = view.clause(start)[1]
    return (first, stop) if first < stop else None


def _row(talk: Talk, view: View, said: tuple[Number, SpokenUnit | None, int], reference: tuple[int, int] | None, plan: PlanBook) -> Row:
    number, unit, at = said
    turn, word = view.turn, view.words[at]
    down = word in DOWN
    evidence = [part(turn, "value", number.start, at + 1)]
    fields = {"difference": Field(-number.value if down else number.value, part=0), "direction": Field("lower" if down else "higher", part=0)}
    name, span = _parameter(talk, view, number, plan)
    if span is not None:
        evidence.append(part(turn, "parameter", *span))
    if name:
        fields["parameter"] = Field(name, "spoken" if span else "carried", part=len(evidence) - 1 if span else None)
    if unit is not None:
        dimension = UP.get(word) or DOWN.get(word)
        chosen = choose(unit.names, dimension) if dimension else unit.names[0]
        fields["unit"] = Field(chosen or unit.names[0], part=0, others=unit.names[1:])
    if reference is not None:
        evidence.append(part(turn, "same as", *reference))
        fields["reference"] = Field(" ".join(view.words[reference[0]:reference[1]]), part=len(evidence) - 1)
    return Row("comparisons", fields, tuple(evidence), turn.loop, turn.station, turn.index)


def _parameter(talk: Talk, view: View, number: Number, plan: PlanBook) -> tuple[str, tuple[int, int] | None]:
    """The phrase before the number; for 'that's', 'it's' and nothing, what the sentence before is about or what was asked."""
    terms = TurnTerms(view, plan, {}, {number.start: number})
    found = terms.before(view.sentence(number.start)[0], number.start)
    if found is not None and found.words and view.words[found.start] not in PRONOUNS:
        return " ".join(found.words), (found.start, found.end)
    for index in range(number.start - 1, -1, -1):
        if index in view.numbers:
            before = TurnTerms(view, plan, {}, {}).before(0, index)
            if before is not None and before.words:
                return " ".join(before.words), (before.start, before.end)
    phrase = next(iter(terms.topics(number.start)), None)
    return (" ".join(phrase.words), (phrase.start, phrase.end)) if phrase else (_asked(talk, view, plan), None)


def _asked(talk: Talk, view: View, plan: PlanBook) -> str:
    before: Sequence[View] = views(talk)[max(0, view.turn.index - 1):view.turn.index]
    found = [phrase for other in before for phrase in TurnTerms(other, plan, {}, {}).topics(len(other.words))]
    return " ".join(found[0].words) if found else ""

"""Which way each witness may speak, and whether anything speaks against a row at all.

A witness for a row never lowers its chance and one against it never raises it, whatever a small fit would make of them: a number made of
two, a name that is not in the turn or a correction close by cannot be good news. Witnesses that are named in neither set may go either way.
"""
from collections.abc import Mapping

FOR = frozenset((
    "word probability", "name: word probability", "turn: word probability", "recording: word probability", "words beside: probability",
    "words beside: lowest probability", "weighing margin", "weighing margin of this number", "free hearing agreed", "repeated", "read back right",
    "name: in the plan", "name: due on the open card", "name: spoken", "name: right before the value", "name: a measurable thing", "name: said of other values",
    "history: near its neighbours", "history: in a run of one direction", "unit: of the thing's kind", "unit: spoken", "unit: plan",
    "station: known", "plain", "plain and named: readouts", "plain and named: ratings", "plain and named: clock_calls",
    "a plain frame reads the same", "answer: one number to one question", "talk: numbers explained", "talk: plain rows",
    "wording: like that of rows that were right"))

SERIOUS = frozenset((
    "value: two readings", "value: words of several numbers", "value: counts down", "value: digits and a half", "value: begins with its point",
    "value: in pieces", "value: digits run together", "value: in a count", "value: told anew by weighing", "value: doubted by grammar",
    "value: another number beside it", "value: joined to another number",
    "value: a word like a digit beside it", "name: a word of a bound or a step", "name: doubted",
    "class: words of a bound near a measured value", "unit: another than the plan's", "a reason to look", "correction: in the turn",
    "weighing: another value fits better", "weighing: another number fits better", "turn: a question",
    "value: one or another"))
"""Grounds at which a careful reader stops: a row with none of them is plain."""

AGAINST = SERIOUS | frozenset((
    "grounds against", "value: odd marks", "value: a word that is often no number", "value: behind a word of numbering", "value: one digit",
    "value: alone in its sentence", "value: with decimals", "value: many digits", "value: behind other words", "name: none", "name: not in the turn",
    "name: words away", "name: far from the value", "name: a number between", "name: a sentence between", "name: not in the plan that there is",
    "name: not due on the open card", "name: no known head", "name: rare words", "name: half said", "name: behind the value", "unit: none",
    "unit: not of the plan's kind", "unit: doubted", "unit: not of the thing's kind", "unit: carried", "unit: assumed", "unit by last value",
    "unit by the usual unit of", "word probability low", "history: far in magnitude", "history: far beyond its limit", "class: an open range",
    "class: a rate", "class: target", "read back wrong", "correction: of what is not named", "correction: soon after",
    "correction: soon after, of this value", "correction: soon after, of this name", "superseded", "rated more than once", "hedged", "station: guessed",
    "station: not one that rates", "station: not the rater's own", "turn: long", "turn: very long", "turn: begins as a read-back", "turn: many numbers",
    "words beside: rare", "words beside: odd together", "tie: no parameter named", "tie: no unit and no known parameter",
    "tie: the parameter is not named", "tie: the parameter is carried", "tie: the speaker's last parameter", "tie: the list goes on",
    "tie: the last parameter in this unit", "tie: named by its unit", "tie: another reading was asked for", "tie: no clock is named, and none is planned",
    "tie: no start of a clock of this name was heard", "tie: only a name, no parameter",
    "tie: what is asked to change", "tie: what the sentence before is about", "tie: the parameter of the value before", "answer: none was heard", "answer: late",
    "answer: in words of its own", "read-back: of a part", "read-back: of one digit", "read-back: long after",
    "class: words of a plan before it", "class: words of a plan behind it", "class: words of an order",
    "value: perhaps a rating", "value: runs into another number", "name: half said, its unit guessed",
    "class: behind to", "class: a bound was asked for", "value: perhaps the number of a thing", "value: said in digits, perhaps without its point",
    "value: figures that no blank should part", "name: half said, its unit unsaid", "name: no measure, its unit unsaid",
    "name: carried, its unit unsaid", "name: its words were said long before", "name: a noun behind the value",
    "name: another thing is named in its clause", "name: another thing was just spoken of", "unit: of several meanings", "unit: guessed",
    "turn: numbers that no row explains", "talk: names in doubt"))
MOST = 4


def plainness(witnesses: Mapping[str, float], kind: str) -> dict[str, float]:
    """How many serious grounds speak against a row; and, where none does, whether its name stands right before its value."""
    count = sum(1 for name in SERIOUS if witnesses.get(name))
    plain, named = float(not count), witnesses.get("name: right before the value", 0.0)
    return {"grounds against": min(count, MOST) / MOST, "plain": plain, f"plain and named: {kind}": plain * named,
            f"plain, its name elsewhere: {kind}": plain * (1 - named)}

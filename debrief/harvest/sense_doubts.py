"""Doubt by sense: values whose sentence says that they may be no reading of now: quoted, supposed, wished, a bound, a person's age, a time.

The value keeps its row, since it was said; the row is doubtful whatever else speaks for it. Common practice, no source.
"""
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from ..records.rows import Row
from ..units import dimension_of, read_unit
from ..wording.english import is_function_word
from .degrees import OPEN, sense
from .parameter_words import HEADS
from .readout_moods import perhaps_ordered
from .readout_words import DIRECTIONS, FILLERS
from .talk import Talk
from .view import View, content, stem, views

_RUNS = "run|test|flight|firing|dive|trial|well|ride|lap|drop|shot|heat|attempt|pass|mission|day"
_THEN = re.compile(rf"\b(yesterday|last (week|night|month|year|season|monday|tuesday|wednesday|thursday|friday|saturday|sunday)|the other day|"
                   rf"(on|in|for|from|during) (the (last|first|other) )?({_RUNS}) \w+|at this (point|time|stage)|when \w+ (did|flew|rode|ran|drove) it)\b")
_WAS = re.compile(r"\b(was|were|had|did|saw|ran|made|got)\b")
_QUOTED = re.compile(r"\b(simulation|simulator|model|book|chart|contract|client|inspector|rulebook|"
                     r"tunnel|table|theory|manual|brochure|drawing|prediction|the other \w+|they|others|everybody)\b"
                     r"( \w+)? (had|has|said|says|say|did|gave|gives|promised|reckons?|calls? for)\b")
_WISHED = re.compile(r"\b((we'd|i'd|would) like|needs|needing|has to be|have to be|calls? for|was expecting|were expecting|expecting|expected|predicted|"
                     r"prediction|i figure|we figure|i reckon|supposed to|ought to|meant to be)\b")
_SUPPOSED = re.compile(r"\b(if|unless|suppose|supposing|in case|say we)\b")
_BOUND = re.compile(r"\b(spec|spec's|specification|the line's|the line is|red ?lines?|(low|high) cut|cuts? (at|on|out)|cut off at|trips? (at|on)|"
                    r"alarms? (at|on)|stop at|(clear|get) out at|the rule (is|says)|the rule's|don't (go|let)|not (below|above|over|under))\b")
_ASKED_BOUNDS = re.compile(r"\b(red ?lines|limits|cuts|trips|alarms)\b[^.?]*$")
_OF_PERSON = re.compile(r"\b(he's|she's|he is|she is)( only| just| nearly| over)?$")
_RATED_THEN = re.compile(r"\b(when \w+ (did|flew|rode|ran|drove|tried)|yesterday|last (week|night|time|run|year))\b")
_NO_NAMES = frozenset("expect figure reckon guess forecast rule chart book clear spec predicted".split())
"""Words that tell whose value it is, and never what is measured."""
_ONE_UNIT = frozenset(("length", "speed", "temperature", "mass"))
"""What one turn tells in one unit; pressures of several sorts stand side by side in theirs."""
_MOST_NUMBERED = 20
_LEAST_PRESSURE = 20
_COURSE = 3
_DIRECTIONS = DIRECTIONS - {"low", "high"} | {"port", "starboard", "nose", "off"}
_FIRST_CLAUSE = 3


def with_doubts(talk: Talk, rows: Sequence[Row]) -> list[Row]:
    """The rows; readouts and ratings of which their own sentence speaks as of another time, source or wish are in doubt, with the ground."""
    return [replace(row, doubt=(*row.doubt, *grounds)) if (grounds := tuple(_grounds(talk, row))) else row for row in rows]


def _grounds(talk: Talk, row: Row) -> Iterator[str]:
    if row.kind not in ("readouts", "ratings") or row.turn is None:
        return
    view = views(talk)[row.turn]
    start = next((i for i, token in enumerate(view.turn.tokens) if token.segment == row.place.segment and token.word == row.place.first_word), None)
    if start is None:
        return
    first, last = view.sentence(start)
    before, whole = " ".join(view.words[first:start]), " ".join(view.words[first:last])
    if row.kind == "ratings":
        if _RATED_THEN.search(whole) or _SUPPOSED.search(before):
            yield "the sentence tells of another time, or supposes it"
        return
    if set(str(row.get("parameter") or "").lower().split()) <= _NO_NAMES and row.get("parameter"):
        yield "the words before it name nothing that is measured"
    if _open_degrees(view, row, start):
        yield OPEN
    if _other_unit(view, row):
        yield "another unit of its kind is spoken beside it"
    if (row.get("class") or "measured") == "measured":
        yield from _no_reading(talk, view, row, start, before, whole)


def _no_reading(talk: Talk, view: View, row: Row, start: int, before: str, whole: str) -> Iterator[str]:
    """Why a value given as measured may be none."""
    if _THEN.search(whole) and _WAS.search(before) or _QUOTED.search(before):
        yield "told of another time, or somebody is quoted"
    if perhaps_ordered(view, start):
        yield "perhaps an order, and no reading"
    if _WISHED.search(before):
        yield "a wish or a forecast, and perhaps no reading"
    if _SUPPOSED.search(before):
        yield "the sentence supposes it"
    if _BOUND.search(before) or _bounds_asked(talk, view, before):
        yield "perhaps a bound, and no reading"
    if row.get("unit") in (None, "") or row.fields["unit"].origin != "spoken":
        yield from _unitless(view, row, start, before)
    value, name = row.get("value"), str(row.get("parameter") or "").lower()
    if isinstance(value, Decimal) and ("diastolic" in name or "systolic" in name) and value < _LEAST_PRESSURE:
        yield "no blood pressure is so low"


def _open_degrees(view: View, row: Row, start: int) -> bool:
    """Degrees of what may turn or get warm, without a direction behind them; a course of three figures is one."""
    unit, value, number = row.fields.get("unit"), row.get("value"), view.numbers.get(start)
    if unit is None or unit.origin != "spoken" or unit.value != "deg" or not isinstance(value, Decimal) or "F" not in unit.others or not row.get("parameter"):
        return False
    kind = sense(str(row.get("parameter")).split(), value)
    course = number is not None and number.form == "digits" and len(number.text) == _COURSE
    return kind is None and not _DIRECTIONS & set(view.words[start:start + 5]) or kind == "both" and not course


def _other_unit(view: View, row: Row) -> bool:
    """'Wind eleven metres a second, gust fifteen': a unit that nobody said with the value, and another of its kind in the turn."""
    unit = row.fields.get("unit")
    if unit is None or not unit.value or unit.origin in ("spoken", "plan"):
        return False
    kind = dimension_of(str(unit.value))
    spoken = {name for number in view.numbers.values() if (reading := read_unit(view.words, number.end)) is not None for name in reading.names}
    alike = {name for name in spoken if dimension_of(name) == kind}
    return kind in _ONE_UNIT and bool(alike) and unit.value not in alike


def _bounds_asked(talk: Talk, view: View, before: str) -> bool:
    """'Redlines, please.' 'Chamber pressure four hundred, vibration twenty five.'"""
    asked = talk.turns[view.turn.index - 1].text.lower().rstrip(" .?") if view.turn.index else ""
    return bool(_ASKED_BOUNDS.search(asked)) and not {"is", "reads", "now"} & set(before.split())


def _unitless(view: View, row: Row, start: int, before: str) -> Iterator[str]:
    """Values that say no unit: an age, a time of day, the condition of the value before, of a thing that the row does not name."""
    value, spoken = row.get("value"), row.fields["parameter"].part is not None if "parameter" in row.fields else False
    if _OF_PERSON.search(before):
        yield "told of a person"
    named = {stem(word) for word in str(row.get("parameter") or "").lower().split()}
    headed = any(word in HEADS or word.removesuffix("s") in HEADS for word in str(row.get("parameter") or "").lower().split())
    lead = view.words[start - 1] if start else ""
    if not headed and spoken and lead in str(row.get("parameter") or "").lower().split() and isinstance(value, Decimal) \
            and value == int(value) and 0 < value <= _MOST_NUMBERED:
        yield "perhaps the number of a thing"
    if lead == "at" and isinstance(value, Decimal) and not headed and 600 <= value <= 2359 and value % 100 < 60 and value % 5 == 0:
        yield "perhaps a time of day"
    if lead == "at" and any(n.end == start - 1 for n in view.numbers.values()):
        yield "perhaps the condition of the value before"
    first, _ = view.sentence(start)
    end = view.clause(first)[1]
    topic = [word for word in view.words[first:end] if word.isalpha() and not is_function_word(word) and word not in FILLERS]
    if not spoken and start >= end and 0 < end - first <= _FIRST_CLAUSE and topic and not view.names and not set(content(" ".join(topic))) & named \
            and end - 1 not in {n.end - 1 for n in view.numbers.values()}:
        yield "another thing is named before it"

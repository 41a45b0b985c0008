"""Witnesses from the sense of what stands around a value: a plan or a bound, a rating, the number of a thing, a number that runs into another.

Each is what a careful listener of a trade he does not know would pause at, and says nothing of any one trade. Common practice, no source.
"""
import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from ..harvest.parameter_words import HEADS, WEAK_HEADS
from ..harvest.readout_words import AFTER_VALUE, BREAKS, CONTRASTS, FILLERS, HEDGES, READING_VERBS, SMALL_LINKS
from ..harvest.talk import Talk
from ..harvest.view import View, content, once, stem, views
from ..records.rows import Row
from ..units import read_unit
from ..wording.english import is_function_word
from ..wording.protected import is_number_word
from .word_witnesses import Spot

_OF_PLANS = re.compile(
    r"\b(book|sheet|card|specs?|chart|manual|handbook|guidelines?|rules?|procedure|allow|allows|allowed|allowance|alarms?|trips?|red ?lines?|cut ?off|criteri\w+|"
    r"limits?|max|min|maximums?|minimums?|nominal|normal|predicted|expected|expecting|estimate\w*|should|must|wants?|wanted|needs?|beyond|until|till|unless|if|"
    r"no more|at least|at most|target\w*|planned|plan|going to|goes to|go to|tomorrow|next|for this|would|as on|has to|have to|supposed|record|usual\w*|"
    r"yesterday|rated)\b|\b(below|under|over|above|past|than|up to|exceeds?|not)( the| a)?$")
_OF_ORDERS = re.compile(
    r"^((okay|ok|now|and|then|please|well|so|right|copy|roger|good|fine|all right) )*(\w+ )?(set|go|take|bring|get|give|run|turn|raise|lower|hold|stop|increase|"
    r"reduce|inflate|open|close|level|climb|descend|slow|try|start|step|next|first|again|now with|with|make it|come|let's|we|i'll|i want|we'll|cap|keep|leave|"
    r"ease|pull|push|put|heat|cool|throttle|dial|trim|pump|vent|fill|charge|load|back)\b")
_ASKS_BOUND = re.compile(r"\b(limits?|max|min|maximum|minimum|allowed|spec|alarm|trip|target|plan|predicted|predict|normal|nominal|usual|book|sheet|rule|"
                         r"should|redline|criteri\w+|estimate|expected|record)\b")
_SMALL = r"(one|two|three|four|five|six|seven|eight|nine|ten|[0-9]|10)"
_OF_RATINGS = re.compile(rf"\b(rat(e|es|ed|ing|ings)|scale|scores?|cooper|out of {_SMALL}|(one|1|zero|0) to {_SMALL}|comfort|workload|"
                         rf"(call|make|give|say) (it |that |them )?(a |an )?{_SMALL}|an? {_SMALL}( and a half)?$|handl\w+|feel\w*|sensation)\b")
_RATED_TURNS, _MOST_RATED, _MOST_NUMBERED, _FRAME_WORDS = 6, 10, 300, 4
_MEASURES = frozenset(stem(word) for word in HEADS if word not in WEAK_HEADS)
_FAR_BACK, _NEAR_TURNS = 40, 2
_NO_NOUNS = READING_VERBS | SMALL_LINKS | HEDGES | AFTER_VALUE | CONTRASTS | FILLERS | BREAKS
_DIGITS = frozenset("zero oh o one two three four five six seven eight nine niner fife tree fower".split())
_LINKS = READING_VERBS | SMALL_LINKS | HEDGES | frozenset("the minus plus negative".split())


def of_sense(spot: Spot, row: Row, talk: Talk) -> Iterator[tuple[str, float]]:
    """Witnesses of one value row, numbers from 0 to 1."""
    view = spot.view
    first, last = view.sentence(spot.start)
    before, sentence = " ".join(view.words[first:spot.start]), " ".join(view.words[first:last])
    asked = talk.turns[view.turn.index - 1].text.lower() if view.turn.index else ""
    if row.kind == "readouts" and (row.get("class") or "measured") == "measured":
        pair = view.before(spot.start) == ("over",) and any(number.end == spot.start - 1 for number in view.numbers.values())
        yield "class: words of a plan before it", float(bool(_OF_PLANS.search(before)) and not pair)
        yield "class: words of a plan behind it", float(bool(_OF_PLANS.search(" ".join(view.words[spot.end:min(last, spot.end + 4)]))))
        yield "class: words of an order", float(bool(_OF_ORDERS.search(sentence)) and not READING_VERBS & set(view.words[first:last]))
        yield "class: behind to", float(view.before(spot.start) == ("to",))
        yield "class: a bound was asked for", float(bool(_ASKS_BOUND.search(asked)))
    yield from _of_number(spot, row)
    if row.kind == "readouts":
        yield "value: perhaps a rating", float(_perhaps_rated(talk, view, row))
        yield "value: perhaps the number of a thing", float(_numbers_a_thing(spot, row, last))
        yield from _of_name(spot, row)
        yield "name: its words were said long before", float(_said_long_before(talk, view, row))
        yield "name: a noun behind the value", float(_noun_behind(spot, row))
        yield "name: another thing is named in its clause", float(_another_named(spot, row))
        yield "name: another thing was just spoken of", float(_another_topic(talk, view, row))
        yield "a plain frame reads the same", float(_plain_frame(spot, row))
    unexplained = [at for at in view.numbers if at not in _explained(talk).get(view.turn.index, ()) and not spot.start <= at < spot.end]
    yield "turn: numbers that no row explains", min(len(unexplained), 4) / 4
    yield "answer: one number to one question", float(len(view.numbers) == 1 and _is_question(asked) and bool(_name(row) & {stem(w) for w in asked.split()}))


def of_talk(talk: Talk, rows: Sequence[Row]) -> Iterator[tuple[str, float]]:
    """What is the same for all rows of a talk: how well it is understood, by its numbers and by its names."""
    known = [(at, view) for view in views(talk) for at in view.numbers if not view.turn.commentary]
    explained = _explained(talk)
    if known:
        yield "talk: numbers explained", sum(at in explained.get(view.turn.index, ()) for at, view in known) / len(known)
    names = [item for row in rows if row.kind == "readouts" and (item := row.fields.get("parameter")) is not None]
    if names:
        yield "talk: names in doubt", sum(item.certainty == "doubtful" for item in names) / len(names)


def remember(talk: Talk, rows: Sequence[Row]) -> None:
    """Keeps with the talk which of its numbers the rows explain."""
    places = {(token.segment, token.word): (turn.index, at) for turn in talk.turns for at, token in enumerate(turn.tokens)}
    found: dict[int, set[int]] = {}
    for row in rows:
        for part in row.evidence:
            if part.segment is None or part.first_word is None or row.kind in ("coverage", "remarks", "qualitative"):
                continue
            for word in range(part.first_word, (part.last_word if part.last_word is not None else part.first_word) + 1):
                turn, at = places.get((part.segment, word), (-1, -1))
                found.setdefault(turn, set()).add(at)
    vars(talk)["_explained"] = found


def _explained(talk: Talk) -> Mapping[int, set[int]]:
    return once(talk, "_explained", lambda _: {})


def _is_question(text: str) -> bool:
    return text.rstrip().endswith("?") or len(text.split()) <= 5


def _name(row: Row) -> set[str]:
    return set(content(str(row.get("parameter") or row.get("axis") or row.get("clock") or "")))


def _of_number(spot: Spot, row: Row) -> Iterator[tuple[str, float]]:
    """Numbers that may be cut in the wrong place, or may lack a point that nobody said."""
    view, value = spot.view, row.get("value")
    tokens = view.turn.tokens
    said = [part for word in view.words[spot.start:spot.end] for part in word.split("-") if part]
    beside = [number for at, number in view.numbers.items() if at == spot.end and not tokens[spot.end - 1].ends_clause
              or number.end == spot.start and not tokens[spot.start - 1].ends_clause]
    yield "value: runs into another number", float(bool(beside))
    whole = isinstance(value, Decimal) and value == value.to_integral_value()
    apart = len(said) > 1 and all(word in _DIGITS or word.isdigit() for word in said)
    yield "value: said in digits, perhaps without its point", float(whole and apart and len(said) <= 3)
    yield "value: figures that no blank should part", float(len(said) > 1 and any(word.isdigit() for word in said))


def _perhaps_rated(talk: Talk, view: View, row: Row) -> bool:
    """A small number without a unit where ratings are asked for or given."""
    value, unit = row.get("value"), row.fields.get("unit")
    if not isinstance(value, Decimal) or not 0 <= value <= _MOST_RATED or unit is not None and unit.value and unit.origin in ("spoken", "plan"):
        return False
    near = talk.turns[max(0, view.turn.index - _RATED_TURNS):view.turn.index + 1]
    return any(_OF_RATINGS.search(" ".join(token.norm for token in turn.tokens)) for turn in near)


def _numbers_a_thing(spot: Spot, row: Row, last: int) -> bool:
    """'Brake two shows five': a whole number right behind a name, then a verb of reading and another number."""
    view, value, unit = spot.view, row.get("value"), row.fields.get("unit")
    if not isinstance(value, Decimal) or value != value.to_integral_value() or not 0 <= value <= _MOST_NUMBERED:
        return False
    if unit is not None and unit.origin == "spoken" and unit.value:
        return False
    lead = view.before(spot.start)
    if not lead or not lead[0].isalpha() or is_function_word(lead[0]) or lead[0] in READING_VERBS | SMALL_LINKS | HEDGES or spot.end >= last:
        return False
    return view.words[spot.end] in READING_VERBS and any(spot.end < at < last for at in view.numbers)


def _of_name(spot: Spot, row: Row) -> Iterator[tuple[str, float]]:
    name, unit = row.fields.get("parameter"), row.fields.get("unit")
    said = {stem(word) for word in spot.view.words}
    stems = _name(row)
    unsaid = unit is None or not unit.value or unit.origin != "spoken"
    guessed = unit is not None and bool(unit.value) and unit.origin in ("assumed", "carried")
    half = bool(stems & said) and bool(stems - said)
    headed = any(word in HEADS or word.removesuffix("s") in HEADS for word in str(row.get("parameter") or "").lower().split())
    yield "name: half said, its unit unsaid", float(half and unsaid)
    yield "name: half said, its unit guessed", float(half and guessed)
    yield "name: no measure, its unit unsaid", float(not headed and unsaid and bool(stems))
    yield "name: carried, its unit unsaid", float(unsaid and not stems & said and name is not None and bool(name.value))
    yield "unit: of several meanings", float(unit is not None and unit.origin == "spoken" and len(unit.others) > 1)
    yield "unit: guessed", float(guessed)


def _said_long_before(talk: Talk, view: View, row: Row) -> bool:
    """Whether a word of the name was said last some turns ago; of words that nobody said (a plan's, a form's) nothing is known."""
    missing = _name(row) - {stem(word) for word in view.words}
    earlier = views(talk)[max(0, view.turn.index - _FAR_BACK):view.turn.index]
    last = {word: other.turn.index for other in earlier for word in map(stem, other.words) if word in missing}
    return any(view.turn.index - at > _NEAR_TURNS for at in last.values())


def _things(words: Sequence[str]) -> set[str]:
    """Stems of words that may name something."""
    return {stem(word) for word in words if word.isalpha() and not is_function_word(word) and word not in _NO_NOUNS and not is_number_word(word)
            and read_unit((word,), 0) is None}


def _another_named(spot: Spot, row: Row) -> bool:
    """'Depth thirty one. Bit's at thirty eight.': the clause of the value names something, and nothing of the row's name."""
    view, name = spot.view, _name(row)
    first, last = view.clause(spot.start)
    words = [word.removesuffix("'s") for word in (*view.words[first:spot.start], *view.words[spot.end:last])]
    return not name & {stem(word) for word in words} and bool(_things(words) - name)


def _another_topic(talk: Talk, view: View, row: Row) -> bool:
    """The turn before speaks of measured things, none of which is the row's, and this turn does not name it."""
    if not view.turn.index or _name(row) & {stem(word) for word in view.words}:
        return False
    before = {stem(word.removesuffix("'s")) for word in views(talk)[view.turn.index - 1].words}
    return bool(before & _MEASURES) and not before & _name(row)


def _noun_behind(spot: Spot, row: Row) -> bool:
    """'Five degrees bank': right behind value and unit stands a noun that is no part of the row's name."""
    view = spot.view
    last = view.turn.tokens[spot.end - 1]
    unit = read_unit(view.words, spot.end) if not last.ends_clause else None
    end = unit.end if unit is not None else spot.end
    if end >= len(view.words) or end in view.numbers or view.turn.tokens[end - 1].ends_clause:
        return False
    word = view.words[end]
    return word.isalpha() and not is_function_word(word) and word not in _NO_NOUNS and stem(word) not in _name(row)


def _plain_frame(spot: Spot, row: Row) -> bool:
    """Whether '<name> [is] <number> [unit]' and nothing else makes up the clause, and its name is the row's: read anew, with no rule of the harvest."""
    view, (first, last) = spot.view, spot.view.clause(spot.start)
    words = [word.removesuffix("'s") for word in view.words[first:spot.start] if word not in FILLERS and word not in _LINKS]
    words = words[1:] if words[:1] == ["and"] else words
    if not 0 < len(words) <= _FRAME_WORDS or any(word in BREAKS or not word.isalpha() for word in words):
        return False
    rest = [word for word in view.words[spot.end:last] if word not in FILLERS]
    numbers = [at for at in view.numbers if first <= at < last]
    return len(numbers) == 1 and len(rest) <= 4 and {stem(word) for word in words} >= set(content(" ".join(words))) == _name(row) & set(content(" ".join(words)))

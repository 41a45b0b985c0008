"""Readouts: spoken instrument values, bound to what they are of.

A number becomes a readout on evidence: a unit spoken with it, a phrase with a known head or a planned parameter before or behind it, a
reading verb, a list that goes on, an answer to a question, or the speaker's own parameter told again. A number without any of these is
left alone. A value that another station merely says again is a read-back and no new readout.
"""
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from ..records.rows import Certainty, Field, Part, Row
from ..records.talk import Number, Turn
from ..units import dimension_of, read_unit
from ..wording.fragments import part_of_number_word
from .asked_sorts import with_asked_sorts
from .attribution import surely_attributed
from .codes import for_each
from .durations import durations
from .echoes import said_again
from .names import names_thing
from .no_values import asks_time, called_steps, claimed_near, counted_down, most_rated, names_near, rating_asked, time_goes_on
from .numbered_things import numbered
from .plan_book import PlanBook
from .progress import progress
from .readout_asked import asked_for, asks_anew
from .readout_binding import Binder
from .readout_class import is_about, is_past
from .readout_found import BY_UNIT, BareNumbers, Found, Memory
from .readout_heights import flies
from .readout_names import plain_name
from .readout_pairs import SET_UNIT
from .readout_phrases import TurnTerms
from .readout_units import UnitMemory, of_rate, time_behind
from .readout_wind import wind_told
from .readups import dictated, is_read_back, is_read_up, read_up
from .talk import Talk, part
from .times import heard_well
from .view import View, stem, views

ECHO_TURNS = 3
MOST_NUMBERED = 20
MOSTLY = 0.6
TWO_READINGS, MUCH_THE_SAME = 6, 20
"""So many figures may be two readings of three, where they differ by no more than a twentieth."""
SOUNDS_LIKE = frozenset("won ate tree fore too".split())
_OWN_UNIT = frozenset(("", "the list goes on", "the question before", "the parameter of the value before", "what is asked to change",
                       "what was just told"))
"""Where the parameter is in doubt on any other ground, a unit that nobody said is left empty."""
_AERO = frozenset("beta theta mach sideslip stall aileron elevator".split())
_LEADS = frozenset("at by maybe about of up down is within".split())
_MOST_METRES = 10
_METRES = frozenset("metre metres meter meters".split())
_TIES = frozenset("to for too".split())


def readouts(talk: Talk) -> list[Row]:
    """Rows of the table readouts. Claims the numbers of the values."""
    spoken = frozenset(word for turn in talk.operational() for word in views(talk)[turn.index].words)
    memory = Memory(UnitMemory(talk.session, spoken), PlanBook(talk.session), called_steps(talk.session))
    rows: list[Row] = []
    planned = dictated(talk)
    for turn in talk.operational():
        view = views(talk)[turn.index]
        for told in (*_in_turn(talk, view, memory), *durations(talk, view, memory)):
            found = replace(told, sort="plan") if turn.index in planned and told.sort in ("measured", "forecast") else told
            row = _row(view, found, memory)
            rows.append(row)
            if found.number.value is None:
                continue
            talk.claim(turn, found.number.start, found.number.end, "readouts")
            unit = row.get("unit")
            memory.add(turn, replace(found, given_unit=str(unit) if unit else None))
    return rows


def _in_turn(talk: Talk, view: View, memory: Memory) -> Sequence[Found]:
    turn = view.turn
    free = [n for n in numbers_of(talk, view) if not talk.claimed(turn, n.start, n.end)]
    named = {n.start: n for n in free if names_thing(talk, view, n) and not (_planned_value(view, n, memory) or _angle_of_flow(view, n, memory))}
    named |= {start: n for start, n in numbered(view).items() if not talk.claimed(turn, n.start, n.end)}
    memory.named[turn.index] = frozenset(n.value for n in named.values())
    numbers = [n for n in free if n.start not in named]
    down = counted_down(talk, turn, [n for n in numbers_of(talk, view) if n.start not in named])
    down |= time_goes_on(talk, turn, [n for n in numbers if n.start not in down])
    numbers = [n for n in numbers if n.start not in down and not for_each(view, n)]
    taken = {n.start: n for n in numbers_of(talk, view) if n.start not in named}
    if not numbers:
        return ()
    terms = TurnTerms(view, memory.plan, named, taken)
    if is_read_up(numbers, view):
        return [] if is_read_back(numbers, view, memory) else read_up(view, numbers, talk.times[turn.index], terms)
    bare = _bare_numbers(talk, turn, memory)
    memory.before = frozenset(views(talk)[turn.index - 1].words) if turn.index else frozenset()
    memory.asked_else = asks_anew(talk, turn)
    card = progress(talk).at(turn.index).card or ""
    memory.due, memory.aims = memory.plan.by_card.get(card, ()), memory.plan.aims.get(card, {})
    wind = memory.plan.meant(("wind", "speed"))
    found = said_again(talk, view, wind_told(view, Binder(view, terms, memory, asked_for(talk, turn, memory), bare).bind(numbers), wind.unit if wind else None))
    found = with_asked_sorts(talk, view, found)
    if found and _is_echo(talk, view, found, memory):
        return [item for item in found if _ordered_anew(view, item, memory) or item.sort == "limit" and not any(
            _said_as(item, old) for _, old in memory.near(turn, ECHO_TURNS))]
    return [item for item in found if not _told_back(talk, view, item, memory)]


def _planned_value(view: View, number: Number, memory: Memory) -> bool:
    """'Port shaft one one eight': a number behind a thing that the plan asks to be read out, and more than such things are numbered by."""
    before = view.words[number.start - 1] if number.start else ""
    known = memory.plan.meant((before,)) if number.value > MOST_NUMBERED and before else None
    return known is not None and not view.turn.tokens[number.start - 1].ends_clause


def _angle_of_flow(view: View, number: Number, memory: Memory) -> bool:
    """'Alpha ten': the angle of attack, where the talk has other words of the kind, and no letter."""
    return view.words[number.start - 1:number.start] in (("alpha",), ("alpha's",)) and bool(_AERO & memory.units.spoken)


def numbers_of(talk: Talk, view: View) -> list[Number]:
    """The numbers of a turn, and 'a mile', 'a centimetre' behind a word that leads to a value, as one."""
    found = list(talk.numbers[view.turn.index])
    taken = {i for n in found for i in range(n.start, n.end)}
    for index, word in enumerate(view.words[:-1]):
        led = index > 0 and (view.words[index - 1].endswith("'s") or view.words[index - 1] in _LEADS)
        unit = read_unit(view.words, index + 1) if word in ("a", "an") and led and index not in taken and index + 1 not in taken else None
        if unit is not None and unit.end == index + 2 and not view.words[index + 1].endswith("s") and dimension_of(unit.name) in ("length", "mass"):
            found.append(Number(index, index + 1, Decimal(1), "1", "cardinal"))
    return sorted(_two_readings(view, _with_hundredths(view, _with_halves(view, found))), key=lambda n: n.start)


def _closes(view: View, number: Number) -> bool:
    return number.end == len(view.words) or view.turn.tokens[number.end - 1].ends_clause


def _with_hundredths(view: View, numbers: Sequence[Number]) -> list[Number]:
    """'Two metres thirty' is 2.30 m: the centimetres of what is told in metres, said without their unit."""
    made = list(numbers)
    for small in [n for n in numbers if view.words[n.start - 1] in _METRES and len(n.text) == 2 and n.text.isdigit() and n.start > 1 and _closes(view, n)]:
        whole = next((n for n in made if n.end == small.start - 1 and n.text.isdigit() and n.value < _MOST_METRES), None)
        apart = any(view.turn.tokens[i].ends_clause for i in (small.start - 1, small.start - 2))
        if whole is not None and not apart and read_unit(view.words, small.end) is None and small.end not in view.numbers:
            text = f"{whole.text}.{small.text}"
            made = [replace(n, value=Decimal(text), text=text) if n is whole else n for n in made if n is not small]
    return made


def _two_readings(view: View, numbers: Sequence[Number]) -> list[Number]:
    """'1 6 6 1 6 5': six single figures in one breath whose halves are much the same are two readings; the whole string is kept beside them."""
    made: list[Number] = []
    for number in numbers:
        half = len(number.text) // 2
        one, two = number.text[:half], number.text[half:]
        apart = number.form == "digits" and number.text.isdigit() and number.end - number.start == len(number.text) == TWO_READINGS and not number.signed \
            and all(word.isdigit() for word in view.words[number.start:number.end]) and "0" not in (one[0], two[0])
        if apart and abs(int(one) - int(two)) * MUCH_THE_SAME <= int(one):
            made += [replace(number, start=start, end=start + half, value=Decimal(text), text=text, others=(number.value,))
                     for start, text in ((number.start, one), (number.start + half, two))]
        else:
            made.append(number)
    return made


def _with_halves(view: View, numbers: Sequence[Number]) -> list[Number]:
    """'A mile and a half', 'two amps and a quarter': the part behind the unit belongs to the number before it."""
    made = list(numbers)
    for half in [n for n in numbers if n.form == "fraction" and n.value < 1 and view.words[n.start - 1:n.start] == ("and",) and n.start > 2]:
        whole = next((n for n in made if n.end < half.start and n.value == int(n.value) and not view.turn.tokens[n.end - 1].ends_clause
                      and (unit := read_unit(view.words, n.end)) is not None and unit.end == half.start - 1), None)
        whole = whole or _one_of_unit(view, half, made)
        if whole is not None and not view.turn.tokens[half.start - 2].ends_clause:
            total = whole.value + half.value
            made = [replace(n, value=total, text=str(total), form="fraction") if n is whole else n for n in made if n is not half]
    return made


def _one_of_unit(view: View, half: Number, made: list[Number]) -> Number | None:
    """'A mile and a half': one, with its article before the unit; put among the numbers made."""
    for at in range(max(0, half.start - 4), half.start - 1):
        unit = read_unit(view.words, at + 1) if view.words[at] in ("a", "an") else None
        if unit is not None and unit.end == half.start - 1 and not any(n.start <= at < n.end for n in made):
            made.append(Number(at, at + 1, Decimal(1), "1", "cardinal"))
            return made[-1]
    return None


def _bare_numbers(talk: Talk, turn: Turn, memory: Memory) -> BareNumbers:
    rated = claimed_near(talk, turn, "ratings")
    if not rated and rating_asked(talk, turn, memory.plan.rated):
        rated = frozenset({Decimal(-1)})
    return BareNumbers(rated, most_rated(talk.session), names_near(turn, memory.named) | claimed_near(talk, turn, "steps"),
                       claimed_near(talk, turn, "times", "clock_calls"), memory.steps, asks_time(talk, turn))


def _is_echo(talk: Talk, view: View, found: Sequence[Found], memory: Memory) -> bool:
    """Another station says again, right or wrong, what was just read out: that is a read-back."""
    near = [(other, old) for other, old in memory.near(view.turn, ECHO_TURNS) if other.station != view.turn.station and other.index != view.turn.index]
    if not near or not surely_attributed(view.turn):
        return False
    options = {value for _, old in near for value in (old.number.value, old.number.value_high, *old.number.others) if value is not None}
    if all(item.phrase is not None and item.phrase.link == "verb" and item.words for item in found) and any(
            old.sort == "target" and _said_as(item, old) for item in found for _, old in near):
        return False  # 'Set alpha twenty.' 'Alpha's at twenty': what was ordered is reported reached
    repeats = [any(_said_as(item, old) for _, old in near) or bool(set(item.number.others) & options) for item in found]
    if _mostly_told(found, near) and not _asked_back(talk, view):
        return True
    ordered = [old for other, old in near if other.index == view.turn.index - 1 and old.sort == "target" and old.words]
    if ordered and all(item.sort == "target" and item.how for item in found):
        return True
    told = [item for item in found if not item.how and item.phrase is not None and not _names_same(item, near) and not _one_swapped(item, near)]
    if told:
        return False
    digits = {"".join(sorted(old.number.text.replace(".", ""))) for _, old in near}
    if all(repeats):
        return not (_asked_back(talk, view) and near[0][0].index != view.turn.index - 1)
    bare = all(item.how for item in found)
    named = all(_one_swapped(item, near) for item in found)
    if named and not _asked_back(talk, view):
        return True
    shuffled = [again or "".join(sorted(item.number.text.replace(".", ""))) in digits for again, item in zip(repeats, found, strict=True)]
    return bare and all(shuffled) and not any(item.sort == "target" for item in found) and not _asked_back(talk, view)


def _ordered_anew(view: View, item: Found, memory: Memory) -> bool:
    """'Six hundred. Two fifty.' 'Hold at two fifty.': what was read out is now ordered; no order was read back, since none was given."""
    near = [old for _, old in memory.near(view.turn, ECHO_TURNS)]
    return item.sort == "target" and not any(old.sort in ("target", "plan") for old in near)


def _said_as(item: Found, old: Found) -> bool:
    """The same value, or the same digits with the point left out ('three seven' for 3.7)."""
    same = item.number.value in (old.number.value, old.number.value_high, *old.number.others)
    return same or (len(item.number.text) > 1 and item.number.text.replace(".", "") == old.number.text.replace(".", ""))


def _mostly_told(found: Sequence[Found], near: Sequence[tuple[Turn, Found]]) -> bool:
    """A list that says again most values of one turn just heard, whatever it calls them."""
    for index in {other.index for other, _ in near}:
        left = [old for turn, old in near if turn.index == index]
        again = 0
        for item in found:
            old = next((old for old in left if _said_as(item, old)), None)
            if old is not None:
                left.remove(old)
                again += 1
        if again >= max(2, MOSTLY * len(found)):
            return True
    return False


def _one_swapped(item: Found, near: Sequence[tuple[Turn, Found]]) -> bool:
    """'Heading zero five eight' right behind 'heading zero eight five': the same name with its figures swapped, read back wrong."""
    said = {word.lower() for word in item.words}
    return len(item.number.text) > 2 and any(
        said and said <= {word.lower() for word in old.words} and sorted(item.number.text) == sorted(old.number.text) for _, old in near)


def _told_back(talk: Talk, view: View, item: Found, memory: Memory) -> bool:
    """One value of a turn that says others of its own: it is only told back where it names nothing, or the same, and equals what was just told."""
    near = [old for other, old in memory.near(view.turn, 1) if other.station != view.turn.station]
    if not near or not surely_attributed(view.turn) or _asked_back(talk, view):
        return False
    tells_back = item.number.start == 0 or bool({"copy", "copied", "roger", "understood", "thanks", "thank"} & set(view.words))
    return tells_back and any((item.number.value == old.number.value or len(item.number.text) > 2 and _said_as(item, old))
                              and (item.how or not item.words) for old in near)


def _asked_back(talk: Talk, view: View) -> bool:
    return view.turn.index > 0 and "?" in talk.turns[view.turn.index - 1].text


def _names_same(item: Found, near: Sequence[tuple[Turn, Found]]) -> bool:
    said = {word.lower() for word in item.words}
    return any(item.number.value == old.number.value and (said & {word.lower() for word in old.words} or not old.words) for _, old in near)


def _row(view: View, found: Found, memory: Memory) -> Row:
    turn, number = view.turn, found.number
    start, stop = view.clause(number.start)
    evidence = [part(turn, "value", number.start, found.end)]
    name = _parameter(view, found, evidence, flies(memory))
    fields = {"parameter": name, "value": Field(number.value, "spoken", _value_certainty(view, found), 0, others=number.others)}
    if number.value_high is not None:
        fields["value_high"] = Field(number.value_high, part=0)
    if number.value is None:
        return _told_as_time(view, found, evidence, fields["parameter"])
    unit = (_known_unit(found) if found.given_unit and not found.unit else
            memory.units.field(found.unit, found.words, found.planned, number.value))
    if found.unit is None and (time := time_behind(view, found.end)) is not None:
        unit, fields["parameter"] = of_rate(unit, time, not found.how), _of_rate(name, unit)
    guessed = found.doubt and not found.unit and found.how not in _OWN_UNIT
    fields["unit"] = Field(None, "assumed") if guessed else replace(unit, part=0 if found.unit else None)
    if found.unit and fields["unit"].value and "unit and parameter do not belong together" not in found.doubt:
        memory.units.heard(found.words, str(fields["unit"].value))
    if found.subject or (found.planned and found.planned.subject):
        fields["subject"] = Field(found.subject, "spoken" if not found.how else "carried") if found.subject else Field(found.planned.subject, "plan")  # type: ignore[union-attr]
    fields["class"] = Field(found.sort, "spoken")
    fields["approximate"] = Field(is_about(view.words, number.start), "spoken")
    fields["past"] = Field(is_past(view, number.start, start, stop), "spoken")
    return Row("readouts", fields, tuple(evidence), turn.loop, turn.station, turn.index, witnesses=heard_well(turn, number.start, found.end))


def _of_rate(name: Field, unit: Field) -> Field:
    """An altitude that is told by the minute is how fast it changes."""
    lengths = dimension_of(str(unit.value)) in ("length", "pressure", "temperature") and name.value and "rate" not in str(name.value).split()
    return replace(name, value=f"{name.value} rate") if lengths else name


def _known_unit(found: Found) -> Field:
    if found.given_unit == SET_UNIT and "altimeter" in {word.lower() for word in found.words}:
        return Field(found.given_unit, "assumed", "clear", None, ("the unit of an altimeter setting of four figures",))
    if found.how.startswith("its place") or not found.how:
        return Field(found.given_unit, "assumed", "clear", None, ("the unit of such a list",))
    return Field(found.given_unit, "carried", "clear", None, ("the unit of this parameter's last value",))


def _told_as_time(view: View, found: Found, evidence: list[Part], parameter: Field) -> Row:
    """A time of a form: no single number, but its text."""
    fields = {"parameter": parameter, "value_text": Field(evidence[0].text.strip(".,;:"), part=0), "class": Field(found.sort, "spoken")}
    return Row("readouts", fields, tuple(evidence), view.turn.loop, view.turn.station, view.turn.index)


def _value_certainty(view: View, found: Found) -> Certainty:
    """Doubtful where two readings are fair, or a word in it or beside it may be a number misheard ('point ate', 'won ninety two')."""
    number = found.number
    before = view.words[number.start - 1] if number.start else ""
    after = view.words[number.end] if number.end < len(view.words) and not view.turn.tokens[number.end - 1].ends_clause else ""
    closes = after and view.turn.tokens[number.end].ends_clause
    tied = before in _TIES and found.phrase is not None and found.phrase.end == number.start - 1 and found.phrase.words
    beside = before in SOUNDS_LIKE or part_of_number_word(before) or part_of_number_word(after) or (after in (_TIES | SOUNDS_LIKE) and closes)
    return "doubtful" if number.alike or number.pieces or "two readings are fair" in found.doubt or tied or beside else "clear"


def _parameter(view: View, found: Found, evidence: list[Part], flies: bool) -> Field:
    level: Certainty = "doubtful" if found.doubt else "clear"
    why = tuple(text for text in (found.how, *found.doubt) if text)
    name = _full_name(found, flies)
    if found.phrase is not None and found.phrase.words:
        evidence.append(part(view.turn, "parameter", found.phrase.start, found.phrase.end))
        return Field(name, "spoken", level, len(evidence) - 1, why)
    if name and not found.words:
        why = (*why, BY_UNIT)
    return Field(name or None, "carried" if name and found.words else "assumed", level, None, why)


def _full_name(found: Found, flies: bool) -> str:
    """The plan's name where it holds all that was said; else the words as said."""
    if found.planned is None:
        return " ".join(plain_name(found, flies))
    known = {word for names in found.planned.names for word in names}
    return found.planned.what if {stem(word.lower()) for word in found.words} <= known else " ".join(found.words)

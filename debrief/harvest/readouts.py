"""Readouts: spoken instrument values, bound to what they are of.

A number becomes a readout on evidence: a unit spoken with it, a phrase with a known head or a planned parameter before or behind it, a
reading verb, a list that goes on, an answer to a question, or the speaker's own parameter told again. A number without any of these is
left alone. A value that another station merely says again is a read-back and no new readout.
"""
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from ..records.rows import Certainty, Field, Part, Row
from ..records.talk import Number, Turn
from .names import callsign_pairs, name_like
from .readout_class import corrects, is_about, is_past, supposed, value_class
from .readout_terms import Phrase, PlanBook, Planned, ellipsis, phrase_after, phrase_before, questions_phrase
from .readout_units import SpokenUnit, UnitMemory, spoken_unit
from .talk import Talk, part
from .times import heard_well
from .view import View, views

ECHO_TURNS = 3
CARRY_TURNS = 14
READ_UP_NUMBERS = 10


@dataclass(frozen=True, slots=True)
class Found:
    """One readout before it becomes a row."""

    number: Number
    words: tuple[str, ...]
    phrase: Phrase | None
    unit: SpokenUnit | None
    planned: Planned | None
    carried: str = ""
    doubt: str = ""
    sort: str = "measured"


@dataclass
class Memory:
    """What was read out last: by station, and by anybody; and the units in use."""

    units: UnitMemory
    plan: PlanBook
    by_station: dict[str | None, tuple[int, Found]] = field(default_factory=dict)
    last: tuple[Turn, Found] | None = None
    said: list[tuple[Turn, Found]] = field(default_factory=list)


def readouts(talk: Talk) -> list[Row]:
    """Rows of the table readouts."""
    memory = Memory(UnitMemory(talk.session), PlanBook(talk.session))
    pairs = callsign_pairs(list(talk.turns), talk.numbers)
    rows: list[Row] = []
    seen = views(talk)
    for turn in talk.operational():
        view = seen[turn.index]
        numbers = [n for n in talk.numbers[turn.index] if not talk.claimed(turn, n.start, n.end) and not name_like(view, n, pairs)]
        found = _read_up(view, numbers, memory) if len(numbers) >= READ_UP_NUMBERS else list(_in_turn(talk, view, numbers, memory))
        for item in found:
            rows.append(_row(talk, view, item, memory))
            talk.claim(turn, item.number.start, item.number.end, "readouts")
            memory.last = (turn, item)
            memory.by_station[turn.station] = (turn.index, item)
            memory.said.append((turn, item))
    return rows


def _read_up(view: View, numbers: list[Number], memory: Memory) -> list[Found]:
    """A long list of values read up at once: each stands, its parameter by the words next to it where there are any."""
    if len(numbers) > 0.28 * len(view.words) and _bare_share(view, numbers, memory) > 0.5:
        return [Found(n, (phrase.words if phrase else ()), phrase, spoken_unit(view, n.start, n.end), None, "",
                      "" if phrase else "a list read up without names", "plan")
                for n, phrase in ((n, _own_phrase(view, n, memory)) for n in numbers)]
    return list(_chain(view, numbers, memory, None))


def _bare_share(view: View, numbers: list[Number], memory: Memory) -> float:
    return sum(1 for n in numbers if _own_phrase(view, n, memory) is None) / len(numbers)


def _own_phrase(view: View, number: Number, memory: Memory) -> Phrase | None:
    start = max((n.end for n in view.numbers.values() if n.end <= number.start), default=0)
    found = phrase_before(view, start, number.start, memory.plan)
    return found if found and number.start - found.end <= 2 else None


def _in_turn(talk: Talk, view: View, numbers: list[Number], memory: Memory) -> Iterator[Found]:
    if _is_echo(talk, view, numbers, memory):
        return
    yield from _chain(view, numbers, memory, _question(talk, view.turn, memory))


def _chain(view: View, numbers: list[Number], memory: Memory, asked: tuple[Phrase, int] | None) -> Iterator[Found]:
    """Numbers in order; each may lean on the one before."""
    before: Found | None = None
    kept: list[Found] = []
    for number in numbers:
        found = _found(view, number, before, memory, asked)
        if found is None:
            continue
        if before is not None and corrects(view, before.number.end, number.start) and kept:
            kept.pop()
        kept.append(found)
        before = found
    yield from kept


def _found(view: View, number: Number, before: Found | None, memory: Memory, asked: tuple[Phrase, int] | None) -> Found | None:
    start, stop = _clause(view, number)
    if _asks(view, number) or supposed(view, start, stop):
        return None
    unit = spoken_unit(view, number.start, number.end)
    begin = max(before.unit.end if before and before.unit else before.number.end if before else 0, _sentence_start(view, number))
    begin = max([begin, *(n.end for n in view.numbers.values() if n.end <= number.start and n.end > begin and _is_name_in_way(view, n))])
    phrase = phrase_before(view, begin, number.start, memory.plan)
    if phrase is None or phrase.head is None:
        behind = phrase_after(view, unit.end if unit else number.end, _next_number(view, number), memory.plan)
        phrase = behind if behind is not None and (unit or phrase is None) else phrase
    sort = value_class(view, number.start, start, stop)
    return _bind(view, number, phrase, unit, before, (memory, asked, sort))


def _is_name_in_way(view: View, number: Number) -> bool:
    return False


def _bind(view: View, number: Number, phrase: Phrase | None, unit: SpokenUnit | None, before: Found | None,
          given: tuple[Memory, tuple[Phrase, int] | None, str]) -> Found | None:
    """The parameter: own words, own words with the head of the one before, the question's, the speaker's last."""
    memory, asked, sort = given
    made = Found(number, phrase.words if phrase else (), phrase, unit, None, sort=sort)
    if phrase is not None and phrase.head is not None:
        return replace(made, planned=_planned(view, phrase.words, memory))
    if phrase is not None:
        return _weak(view, made, phrase, before, memory)
    if before is not None and _goes_on(view, before, number):
        return replace(made, words=before.words, planned=before.planned, carried="the list goes on")
    if asked is not None and _answers_plainly(view, number):
        return replace(made, words=asked[0].words, planned=_planned(view, asked[0].words, memory), carried="the question before")
    return _told_again(view, made, memory)


def _weak(view: View, made: Found, phrase: Phrase, before: Found | None, memory: Memory) -> Found | None:
    """Words without a known head: with a plan parameter, after a readout of the same turn, with a unit, or before a reading verb."""
    planned = _planned(view, phrase.words, memory)
    if planned is not None:
        return replace(made, planned=planned)
    if before is not None and before.phrase is not None and _parallel(view, phrase, made.number):
        return replace(made, words=ellipsis(phrase, before.phrase), planned=before.planned, carried="the head of the value before")
    if made.unit is not None:
        return made
    reads = view.words[made.number.start - 1] in ("is", "reads", "reading", "shows", "showing", "at", "indicating") if made.number.start else False
    precise = "." in made.number.text or len(made.number.text) >= 3
    if reads and precise:
        return replace(made, doubt="no unit and no known parameter")
    last = _speakers_last(view.turn, memory)
    if last is not None and precise and len(phrase.words) <= 2:
        return replace(made, words=last.words, planned=last.planned, carried="the speaker's last parameter", doubt="the parameter is carried")
    return None


def _parallel(view: View, phrase: Phrase, number: Number) -> bool:
    return len(phrase.words) <= 3 and number.start - phrase.end <= 2


def _told_again(view: View, made: Found, memory: Memory) -> Found | None:
    """A bare number: the speaker's own last parameter, or the parameter that was just asked to move."""
    alone = _answers_plainly(view, made.number) or made.unit is not None
    last = _speakers_last(view.turn, memory)
    if last is not None and alone and (made.unit is None or _same_unit(made.unit, last)):
        return replace(made, words=last.words, planned=last.planned, carried="the speaker's last parameter")
    if memory.last is not None and alone and view.turn.index - memory.last[0].index <= 2 and memory.last[1].sort in ("target", "limit"):
        return replace(made, words=memory.last[1].words, planned=memory.last[1].planned, carried="what was just asked for")
    if made.unit is not None:
        return replace(made, doubt="the parameter is not named")
    return None


def _same_unit(unit: SpokenUnit, last: Found) -> bool:
    theirs = last.unit.names if last.unit else (last.planned.unit,) if last.planned and last.planned.unit else ()
    return not theirs or bool(set(unit.names) & set(theirs))


def _speakers_last(turn: Turn, memory: Memory) -> Found | None:
    index, found = memory.by_station.get(turn.station, (-1, None))
    return found if found is not None and turn.station is not None and turn.index - index <= CARRY_TURNS else None


def _answers_plainly(view: View, number: Number) -> bool:
    """Little else is said: the number opens its clause, or nothing but small words stands before it."""
    start, _ = _clause(view, number)
    return number.start - start <= 2


def _goes_on(view: View, before: Found, number: Number) -> bool:
    """'eight... ten... twelve', '52 and 31.6', 'three, three and a half': nothing between but small words."""
    between = view.words[(before.unit.end if before.unit else before.number.end):number.start]
    return len(between) <= 2 and all(word in ("and", "to", "now", "then", "or", "about", "coming", "up", "down", "") for word in between)


def _planned(view: View, words: tuple[str, ...], memory: Memory) -> Planned | None:
    return memory.plan.meant(words, _mentioned(view, 0))


def _mentioned(view: View, number_start: int) -> str | None:
    named = [mention.station for mention in view.names if mention.station != view.turn.station and not mention.group]
    return named[-1] if named else None


def _clause(view: View, number: Number) -> tuple[int, int]:
    start, stop = view.clause(number.start)
    while start > 0 and view.turn.tokens[start - 1].text.endswith("..."):
        start = view.clause(start - 1)[0]
    return start, max(stop, number.end)


def _sentence_start(view: View, number: Number) -> int:
    start = view.sentence(number.start)[0]
    while start > 0 and view.turn.tokens[start - 1].text.endswith("..."):
        start = view.sentence(start - 1)[0]
    return start


def _next_number(view: View, number: Number) -> int:
    return min((n for n in view.numbers if n >= number.end), default=len(view.words))


def _asks(view: View, number: Number) -> bool:
    _, stop = view.sentence(number.start)
    return view.turn.tokens[stop - 1].text.rstrip("\"'").endswith("?") and view.words[stop - 1] not in ("right", "correct")


def _question(talk: Talk, turn: Turn, memory: Memory) -> tuple[Phrase, int] | None:
    """What the turn before asks for, where it asks this station or nobody by name."""
    asked = turn.answers if turn.answers is not None else turn.index - 1
    for index in dict.fromkeys((turn.index - 1, asked)):
        if index < 0 or turn.index - index > 4 or talk.turns[index].station == turn.station:
            continue
        view = views(talk)[index]
        found = questions_phrase(view, memory.plan)
        if found and ("?" in talk.turns[index].text or {"please", "give", "need", "read", "call"} & set(view.words)):
            return found, index
    return None


def _is_echo(talk: Talk, view: View, numbers: list[Number], memory: Memory) -> bool:
    """Another station says again, right or wrong, what was just read out: that is a read-back."""
    turn = view.turn
    near = [(other, found) for other, found in memory.said[-12:] if 0 < turn.index - other.index <= ECHO_TURNS and other.station != turn.station]
    if not near or not numbers or "?" in talk.turns[turn.index - 1].text:
        return False
    bare = all(_answers_plainly(view, n) and not _names_other(view, n, near, memory) for n in numbers[:1])
    values = {found.number.value for _, found in near}
    repeats = all(n.value in values for n in numbers)
    digits = any(sorted(n.text.replace(".", "")) == sorted(found.number.text.replace(".", "")) for n in numbers for _, found in near)
    return repeats or (bare and digits)


def _names_other(view: View, number: Number, near: list[tuple[Turn, Found]], memory: Memory) -> bool:
    phrase = phrase_before(view, _sentence_start(view, number), number.start, memory.plan)
    return phrase is not None and phrase.head is not None and not any(set(phrase.words) & set(found.words) for _, found in near)


def _row(talk: Talk, view: View, found: Found, memory: Memory) -> Row:
    turn, number = view.turn, found.number
    start, stop = _clause(view, number)
    evidence = [part(turn, "value", number.start, found.unit.end if found.unit else number.end)]
    fields = {"parameter": _parameter(view, found, evidence), "value": Field(number.value, part=0, others=number.others)}
    if number.value_high is not None:
        fields["value_high"] = Field(number.value_high, part=0)
    fields["unit"] = replace(memory.units.field(found.unit, found.words, found.planned, number.value), part=0 if found.unit else None)
    if found.unit and fields["unit"].value:
        memory.units.heard(found.words, str(fields["unit"].value))
    subject = _subject(view, found)
    if subject is not None:
        fields["subject"] = subject
    fields["class"] = Field(found.sort, "spoken")
    fields["approximate"] = Field(is_about(view.words, number.start), "spoken")
    fields["past"] = Field(is_past(view, number.start, start, stop), "spoken")
    return Row("readouts", fields, tuple(evidence), turn.loop, turn.station, turn.index,
               witnesses=heard_well(turn, number.start, found.unit.end if found.unit else number.end))


def _parameter(view: View, found: Found, evidence: list[Part]) -> Field:
    level: Certainty = "doubtful" if found.doubt else "clear"
    why = tuple(text for text in (found.carried, found.doubt) if text)
    if found.phrase is not None and not found.carried:
        evidence.append(part(view.turn, "parameter", found.phrase.start, found.phrase.end))
        return Field(" ".join(found.words), "spoken", level, len(evidence) - 1, why)
    name = found.planned.what if found.planned and found.carried else " ".join(found.words)
    return Field(name or None, "carried" if found.carried else "assumed", level, None, why)


def _subject(view: View, found: Found) -> Field | None:
    """The station named beside the value, else the plan's only subject for this parameter."""
    named = [m for m in view.names if m.end <= found.number.start + 1 and m.station != view.turn.station and not m.group
             and (not view.turn.tokens[m.end - 1].ends_clause or m.start >= view.sentence(found.number.start)[0])]
    if named and named[-1].start >= view.sentence(found.number.start)[0] and (named[-1].start > 0 or not view.turn.tokens[named[-1].end - 1].ends_clause):
        return Field(named[-1].station, "spoken")
    if found.planned and found.planned.subject:
        return Field(found.planned.subject, "plan")
    return None

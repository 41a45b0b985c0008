"""Lengths of time that are measured: 'braking time one point seven seconds', 'drain time?' 'Three minutes twenty', 'fired at 0.17 seconds'.

A length of time that only says how long to wait or how long ago is in the table of times alone. Common practice, no source.
"""
import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from ..records.talk import Number, SpokenTime
from ..units import dimension_of
from .readout_class import asks, denied, value_class
from .readout_found import Found, Memory
from .readout_phrases import Phrase, TurnTerms
from .readout_units import SpokenUnit, spoken_unit
from .readout_words import DETERMINERS, FILLERS, HEDGES, PRONOUNS
from .talk import Talk
from .view import View, views

LASTING = frozenset("time times period periods duration delay lag endurance interval latency dwell exposure qrs qtc".split())
"""Last words of names of what is measured as a length of time."""
_NO_NAMES = frozenset("this that next last first second same any every some more long short local what each other one a spare real good full no on in "
                      "half part".split())
"""'This time', 'a long time', 'on time': no names."""
_LINKS = frozenset("is was are were of at 's now still to up down over under about only just at inside within".split()) | HEDGES
_HOW_LONG = re.compile(r"\bhow long (did|was|were|has|have|had)\b")
_WATCHES = frozenset("clock stopwatch watch timer".split())
_PAST = frozenset("went came fell shut blew cut lit ran got hit began done stood through down up across over".split())
_ENDS = _NO_NAMES - {"off", "on", "no", "full", "half"} | _LINKS | FILLERS | DETERMINERS | PRONOUNS | frozenset(
    "and or but what's what had have has with for from in got get gets copy roger good".split())
_MOST_LEAD, _MOST_WORDS = 2, 4
_STOPWATCH_S = 120


def durations(talk: Talk, view: View, memory: Memory) -> list[Found]:
    """The measured lengths of time of a turn, named by what stands before them, behind them, or in the question before."""
    told = [time for time in talk.times[view.turn.index] if time.seconds is not None and time.seconds_high is None and time.seconds > 0 and (
        time.kind == "duration" or time.kind == "elapsed" and _on_watch(view, time) or time.kind == "countdown" and _took(view, time))]
    return [found for time in told if (found := _found(talk, view, memory, time)) is not None] if told else []


def _found(talk: Talk, view: View, memory: Memory, time: SpokenTime) -> Found | None:
    number = view.numbers.get(time.start)
    clause = view.clause(time.start)
    if number is None or asks(view, number, clause) or denied(view, clause[0], time.start):
        return None
    number, unit = _as_said(view, number, time)
    terms = TurnTerms(view, memory.plan, {}, dict(view.numbers))
    sort = value_class(view, number, *clause)
    low = max((n.end for n in view.numbers.values() if n.end <= time.start and n is not number), default=0)
    before = _named(view, max(low, view.sentence(time.start)[0]), time.start) or terms.before(max(low, view.sentence(time.start)[0]), time.start)
    if before is not None and _lasts(before, memory) and _hangs(view, before, time.start):
        planned = memory.plan.meant(before.words, before.subject)
        return Found(number, time.end, before.words, unit, before, planned if planned and dimension_of(planned.unit) == "time" else None, before.subject,
                     sort=sort)
    if sort != "measured":
        return None
    fine = "." in number.text and number.form != "fraction" and unit.names[0] == "s" and number.value < _STOPWATCH_S or unit.names[0] == "ms"
    if time.start <= _MOST_LEAD and (words := _asked(talk, view)):
        return Found(number, time.end, words, unit, how="the question before")
    if _on_watch(view, time):
        return Found(number, time.end, ("time",), unit, how="the word behind the unit")
    made = Found(number, time.end, ("time",), unit)
    return (_of_deed(view, terms, time, made) if fine else None) or _planned_alone(view, memory, made, fine)


def _as_said(view: View, number: Number, time: SpokenTime) -> tuple[Number, SpokenUnit]:
    """The number with its one unit as said, or the whole in seconds where several were said ('three minutes twenty')."""
    unit = spoken_unit(view, number.start, number.end)
    if unit is not None and unit.end == time.end:
        return number, unit
    seconds = time.seconds or Decimal(0)
    return Number(time.start, time.end, seconds, f"{seconds.normalize():f}", "cardinal"), SpokenUnit(("s",), time.end)


def _named(view: View, low: int, start: int) -> Phrase | None:
    """'Working time', 'mask off time': the words that end in one of LASTING before a time, with linking words alone between them."""
    end = start
    while end > low and (view.words[end - 1] in _LINKS or not view.words[end - 1]):
        end -= 1
    first = _back(view, low, end)
    return Phrase(first, end, view.words[first:end]) if end > low and view.words[end - 1] in LASTING and first < end else None


def _back(view: View, low: int, end: int) -> int:
    """Where the name begins that ends right before token end: not beyond its clause, and MOST_WORDS words at most."""
    start = end - 1
    while start > max(low, end - _MOST_WORDS) and view.words[start - 1].isalpha() and not view.turn.tokens[start - 1].ends_clause \
            and view.words[start - 1] not in _ENDS:
        start -= 1
    return start


def _lasts(phrase: Phrase, memory: Memory) -> bool:
    words = [word.lower() for word in phrase.words]
    if not words:
        return False
    planned = memory.plan.meant(phrase.words, phrase.subject)
    if planned is not None and planned.unit is not None:
        return dimension_of(planned.unit) == "time"
    return words[-1] in LASTING and not (len(words) == 2 and words[0] in _NO_NAMES)


def _hangs(view: View, phrase: Phrase, start: int) -> bool:
    """Only linking words between the name and the time, and none that makes it 'this time' before the name."""
    lead = view.words[phrase.start - 1] if phrase.start else ""
    alone = len(phrase.words) == 1 and lead in _NO_NAMES
    return not alone and all(word in _LINKS or not word for word in view.words[phrase.end:start])


def _asked(talk: Talk, view: View) -> tuple[str, ...]:
    """What the turn before asks for: 'Drain time?', 'How long?'"""
    index = view.turn.index - 1
    if index < 0 or talk.turns[index].station is not None and talk.turns[index].station == view.turn.station:
        return ()
    asked = views(talk)[index]
    if not asked.words or talk.numbers[index] and "?" not in talk.turns[index].text:
        return ()
    if _HOW_LONG.search(" ".join(asked.words)) and "?" in talk.turns[index].text:
        return ("time",)
    first, last = asked.sentences[-1]
    if asked.words[last - 1] not in LASTING or last - first > 5 or "?" not in talk.turns[index].text and last - first > 2:
        return ()
    return asked.words[_back(asked, first, last):last]


def _on_watch(view: View, time: SpokenTime) -> bool:
    """'101 seconds on the clock'."""
    seconds = view.words[time.end - 1].startswith("second")
    return seconds and view.words[time.end:time.end + 1] == ("on",) and bool(_WATCHES & set(view.words[time.end + 1:time.end + 4]))


def _took(view: View, time: SpokenTime) -> bool:
    """'The brake pipe dumped in one point nine seconds': a verb of the past, and what it took to the tenth."""
    verb = view.words[time.start - 2] if time.start > 1 else ""
    number = view.numbers.get(time.start)
    return number is not None and "." in number.text and view.words[time.start - 1] == "in" and (verb.endswith("ed") or verb in _PAST)


def _planned_alone(view: View, memory: Memory, found: Found, fine: bool) -> Found | None:
    """'Thirty four seconds.', where the plan asks for one length of time; to the tenth also where it asks for none."""
    fits = {item.what: item for item in memory.plan.planned if item.unit is not None and dimension_of(item.unit) == "time"}
    start, stop = view.clause(found.number.start)
    if len(fits) == 1 and (fine or (start, stop) == (found.number.start, found.end)):
        item = next(iter(fits.values()))
        return replace(found, words=tuple(item.what.split()), planned=item, how="the plan's only parameter in this unit", doubt=("the parameter is not named",))
    return replace(found, how="no parameter named", doubt=("the parameter is not named",)) if fine else None


def _of_deed(view: View, terms: TurnTerms, time: SpokenTime, found: Found) -> Found | None:
    """'Drogue fired at 0.17 seconds', 'took 5.3 seconds': what the clause opens with is what was timed."""
    first = view.clause(time.start)[0]
    phrase = next(_openings(view, terms, first, time.start), None)
    if phrase is None:
        return None
    return replace(found, words=(*phrase.words, "time"), phrase=phrase, subject=phrase.subject)


def _openings(view: View, terms: TurnTerms, first: int, stop: int) -> Iterator[Phrase]:
    phrase = terms.opening(first, stop)
    if phrase is not None and phrase.words and len(phrase.words) <= 3 and not phrase.contrast:
        yield phrase

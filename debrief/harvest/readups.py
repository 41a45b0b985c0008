"""Read-ups: many values dictated at once, beforehand, to be written down. They are plan, whatever the clock says, and heard in a fixed order.

A turn is a read-up when it holds at least ten values of which most have no name of their own. Where a known form is named, its order
tells what each is; else only the words beside a value do. A form that was announced to be copied goes on over the turns of the station that
announced it, until it was read back.
"""
import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from ..records.talk import Number, SpokenTime
from .readout_found import Found, Memory
from .readout_phrases import Phrase, TurnTerms
from .readout_units import spoken_unit
from .readup_forms import FORMS, FormField, Item, fields_of
from .take_backs import corrects
from .talk import Talk
from .view import View, views

LEAST_NUMBERS = 10
READ_BACK_TURNS = 40
LONGEST_FORM_TURNS, LEAST_IN_TURN, LEAST_READ_BACK, LONGEST_UNKNOWN = 25, 2, 3, 6
_FORM = re.compile(r"\b(pads?|updates?|maneuver|manoeuvre|block data|burn data)\b")
_TO_COPY = re.compile(r"\b(ready to copy|to copy|for you|ready for it)\b")
_OFFER = re.compile(r"\b((i|we) (have|got)|(i've|we've)( got)?)\b( \w+){0,4} (pads?|block data|burn data)\b")
_ASKED = re.compile(r"\b(go ahead with|ready for|ready to copy|send|read) (your|the|that|us the|me the)? ?(\w+ )?(pads?|updates?|block data|burn data)\b")
_DONE = re.compile(r"\b(good read ?back|read ?back('s| is)? (good|correct)|that's (correct|affirmative))\b")
_NOT_APPLICABLE = (("not", "applicable"), ("november", "alfa"), ("november", "alpha"), ("n/a",), ("na",))
_TELLS = frozenset("is are reads reading shows showing at".split())
_NO = "a value of a list read up without names"


def _announces(said: str) -> bool:
    return bool(_FORM.search(said) and _TO_COPY.search(said) or _OFFER.search(said))


def dictated(talk: Talk) -> frozenset[int]:
    """Indexes of the turns in which a form is dictated that was announced ('I have your PAD when you're ready to copy'), or read back."""
    found: set[int] = set()
    by: str | None = None
    left, read_back, unknown = 0, False, 0
    for turn in talk.operational():
        said, count = " ".join(views(talk)[turn.index].words), len(talk.numbers[turn.index])
        if turn.station is None:
            unknown = LONGEST_UNKNOWN if _announces(said) and count < LEAST_READ_BACK else 0 if _DONE.search(said) else unknown - 1
            found |= {turn.index} if unknown > 0 and count >= LEAST_IN_TURN else set()
            continue
        if _announces(said) and count < LEAST_READ_BACK:
            by, left, read_back = turn.station, LONGEST_FORM_TURNS, False
            continue
        if by is None and _ASKED.search(said) and turn.index and (before := talk.turns[turn.index - 1].station) not in (None, turn.station):
            by, left, read_back = before, LONGEST_FORM_TURNS, False
            continue
        left -= 1
        if by is None or left < 0:
            continue
        if turn.station == by and (read_back or "?" in turn.text):
            by = None
        elif turn.station == by and count >= LEAST_IN_TURN:
            found.add(turn.index)
        elif turn.station != by and count >= LEAST_READ_BACK:
            found.add(turn.index)
            read_back = True
    return frozenset(found)


def is_read_up(numbers: Sequence[Number], view: View) -> bool:
    """Whether these numbers are many, and most follow another one with no word between; not where several are told with a verb ('oil is 268')."""
    told = sum(1 for number in numbers if number.start and (view.words[number.start - 1] in _TELLS or view.words[number.start - 1].endswith("'s")))
    if len(numbers) < LEAST_NUMBERS or told > 1:
        return False
    return sum(1 for before, number in pairwise(numbers) if number.start <= before.end) > len(numbers) / 2


def _own(number: Number, terms: TurnTerms) -> Phrase | None:
    low = max((n.end for n in terms.values.values() if n.end <= number.start), default=0)
    found = terms.before(low, number.start)
    return found if found is not None and found.words and found.head is not None and found.link != "far" else None


def is_read_back(numbers: Sequence[Number], view: View, memory: Memory) -> bool:
    """Whether another station read most of these values up before."""
    earlier = {found.number.value for turn, found in memory.near(view.turn, READ_BACK_TURNS)
               if found.sort == "plan" and turn.station != view.turn.station}
    return bool(earlier) and sum(1 for number in numbers if number.value in earlier) > len(numbers) * 0.7


def read_up(view: View, numbers: Sequence[Number], times: Sequence[SpokenTime], terms: TurnTerms) -> list[Found]:
    """Every value of a read-up, class plan; times of a known form are values too, told by their text."""
    numbers = [n for n, after in zip(numbers, (*numbers[1:], None), strict=True) if after is None or not corrects(view, n.end, after.start)]
    form = next((form for form in FORMS if form.known_by & set(view.words)), None)
    items = _items(view, numbers, times)
    fields = fields_of(form, [item for _, item in items]) if form else [None] * len(items)
    found = []
    for (start, item), field in zip(items, fields, strict=True):
        if isinstance(item, Number):
            found.append(_of_number(view, item, field, terms))
        elif item is not None and field is not None:
            found.append(_of_time(item, start, field))
    return found


def _items(view: View, numbers: Sequence[Number], times: Sequence[SpokenTime]) -> list[tuple[int, Item]]:
    items: list[tuple[int, Item]] = [(number.start, number) for number in numbers]
    items += [(time.start, (time.start, time.end)) for time in times if time.get is not None]
    items += [(index, None) for index in range(len(view.words)) for words in _NOT_APPLICABLE if view.has(words, index)]
    return sorted(items, key=lambda item: item[0])


def _of_number(view: View, number: Number, field: FormField | None, terms: TurnTerms) -> Found:
    unit = spoken_unit(view, number.start, number.end)
    made = Found(number, unit.end if unit else number.end, (), unit, sort="plan", how="its place in the list")
    if field is not None:
        return replace(made, words=tuple(field.name.split()), given_unit=field.unit)
    own = _own(number, terms)
    return replace(made, words=own.words, phrase=own, how="") if own else replace(made, doubt=(_NO,))


def _of_time(span: tuple[int, int], start: int, field: FormField) -> Found:
    value = Number(span[0], span[1], None, "", "digits")  # type: ignore[arg-type]
    return Found(value, span[1], tuple(field.name.split()), None, sort="plan", how="its place in the list", given_unit=field.unit)

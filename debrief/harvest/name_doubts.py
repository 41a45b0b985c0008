"""Doubt by name: values of which it cannot be known what they are of, said as a ground instead of guessed.

A thing and its number, what is done at a value, what a value was read off, two quantities of one station that a bare value fits alike, a value
that is said again in full or put right in the same breath. Common practice, no source.
"""
import re
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from ..records.rows import Row
from ..records.talk import Number
from .parameter_words import HEADS
from .talk import Talk
from .view import View, views

_MOST_THINGS, _NEAR_ROWS, _NEAR_TURNS = 20, 8, 6
_CLOSE, _SAME_BREATH = 1.35, 9
FITS_TWO = "another quantity that this station told fits it as well"
_LISTED = "the list goes on"
_CARRIED = frozenset(("the speaker's last parameter", _LISTED, "what was just told or asked for", "the last parameter in this unit"))
_ONLY_NUMBERED = frozenset("cast lap station stake run orbit pas card page sheet step test item trial attempt drop dive marker frame waypoint paragraph verb noun "
                           "program programme position serial batch lot tube core piece set series".split())
"""Things that are called by a number and have none to be read off, in the singular as a plural ending is cut off."""
_PUT_RIGHT = re.compile(r"^(no )?(sorry|correction|excuse me|i mean|make that|scratch that|say again|i say again|pardon)\b|^no (it's|that's|make|that)\b")
_RIGHTED_BEHIND = ("excuse me", "sorry", "i beg your pardon", "pardon me", "rather")
_READS_OFF = frozenset("says gives reckons has makes".split())
_PLACES = frozenset("on in at from of".split())


@dataclass(frozen=True, slots=True)
class _Spot:
    """Where a row's number stands: its turn, the number, and the place of the words of its name in the turn (None where none were said there)."""

    view: View
    number: Number
    name: tuple[int, int] | None


def with_name_doubts(talk: Talk, rows: Sequence[Row]) -> list[Row]:
    """The rows; readouts of which nobody could say what they are of are in doubt, with the ground."""
    told: dict[str | None, deque[tuple[int, Row]]] = {}
    found = []
    for row in rows:
        spot = _spot(talk, row) if row.kind == "readouts" and row.turn is not None else None
        if spot is None:
            found.append(row)
            continue
        told_here = told.setdefault(row.station, deque(maxlen=_NEAR_ROWS))
        grounds = tuple(dict.fromkeys((*_of_name(spot, row), *_of_value(spot), *_of_two(row, told_here))))
        found.append(replace(row, doubt=(*row.doubt, *grounds)) if grounds else row)
        told_here.append((row.turn or 0, found[-1]))
    return found


def _spot(talk: Talk, row: Row) -> _Spot | None:
    view = views(talk)[row.turn or 0]
    tokens = view.turn.tokens
    at = {(token.segment, token.word): index for index, token in enumerate(tokens)}
    start = at.get((row.place.segment or "", row.place.first_word if row.place.first_word is not None else -1))
    number = view.numbers.get(start) if start is not None else None
    if number is None:
        return None
    item = row.fields.get("parameter")
    part = row.evidence[item.part] if item is not None and item.part is not None else None
    first = at.get((part.segment or "", part.first_word if part.first_word is not None else -1)) if part is not None else None
    return _Spot(view, number, None if first is None or part is None else (first, first + len(part.text.split())))


def _unit_said(row: Row) -> bool:
    unit = row.fields.get("unit")
    return unit is not None and unit.value is not None and unit.origin == "spoken"


def _headed(words: Sequence[str]) -> bool:
    return any(word in HEADS or word.removesuffix("s") in HEADS for word in words)


def _of_name(spot: _Spot, row: Row) -> Iterator[str]:
    view, number = spot.view, spot.number
    words = [word.removesuffix("'s") for word in view.words[spot.name[0]:spot.name[1]]] if spot.name is not None else []
    lead = view.words[number.start - 1] if number.start else ""
    if spot.name is not None and not _unit_said(row):
        thing = lead.removesuffix("s")
        direct = spot.name[1] == number.start and "." not in number.text and not lead.endswith("'s")
        if direct and thing in _ONLY_NUMBERED and not view.turn.tokens[number.start - 1].ends_clause:
            yield "perhaps the number of a thing"
        if lead == "at" and spot.name[1] == number.start - 1 and not view.words[number.start - 2].endswith("'s") and (
                not _headed(words) or words == ["level"]):
            yield "perhaps what is done at this value"
    if spot.name is not None and spot.name[1] < number.start and words and not _headed(words) and row.fields["parameter"].origin == "spoken" \
            and set(view.words[spot.name[1]:number.start]) & _READS_OFF:
        yield "perhaps what it was read off"
    if number.end == number.start + 1 and 0 < number.value <= _MOST_THINGS and not _unit_said(row) and view.words[max(0, number.start - 2):number.start] \
            and view.words[number.start - 2] in _PLACES and any(other.end <= number.start - 2 and _one_clause(view, other.start, number.start)
                                                               for other in view.numbers.values()):
        yield "perhaps the number of a thing"


def _one_clause(view: View, one: int, other: int) -> bool:
    return view.clause(one) == view.clause(other)


def _of_value(spot: _Spot) -> Iterator[str]:
    """'Ninety two ... make that ninety four', 'thirty five. No, sorry, twenty five', 'three ... three point four'."""
    view, number = spot.view, spot.number
    if number.end == number.start + 1 and number.form == "digits" and len(number.text) == 2 and view.words[number.start][:1].isalpha() and number.others:
        yield "perhaps its point was left out"
    after = min((n for n in view.numbers.values() if n.start >= number.end), key=lambda n: n.start, default=None)
    if after is None:
        return
    between = " ".join(view.words[number.end:after.start])
    near = after.start - number.end
    tail = " ".join(view.words[after.end:after.end + 3])
    behind = range(number.end, min(number.end + 4, after.start))
    righted = any(_PUT_RIGHT.match(" ".join(view.words[i:after.start])) or view.turn.tokens[i].text.lower() == "no," for i in behind)
    if righted and near <= _SAME_BREATH or near <= 1 and tail.startswith(_RIGHTED_BEHIND):
        yield "put right in the same breath"
    pause = view.turn.tokens[number.end - 1].text.endswith(("...", "…"))
    if pause and not between and after.form == "decimal" and after.text.startswith(f"{number.text}.") and "." not in number.text:
        yield "said again in full right behind"


def _of_two(row: Row, told: Sequence[tuple[int, Row]]) -> Iterator[str]:
    """A bare value, carried on, that fits two quantities which this station told lately."""
    item, value = row.fields.get("parameter"), row.get("value")
    if item is None or not _CARRIED & set(item.why[:1]) or _unit_said(row) or not isinstance(value, Decimal):
        return
    latest: dict[str, tuple[int, Row]] = {}
    for turn, old in told:
        latest[str(old.get("parameter")).lower()] = (turn, old)
    if item.why[0] == _LISTED and not (told and FITS_TWO in told[-1][1].doubt):
        return  # what stands before it in the list says of what it is
    mine = str(row.get("parameter")).lower()
    near = [name for name, (turn, old) in latest.items() if (row.turn or 0) - turn <= _NEAR_TURNS and _like(value, old.get("value"))]
    if any(not (set(name.split()) <= set(mine.split()) or set(mine.split()) <= set(name.split())) for name in near):
        yield FITS_TWO


def _like(value: Decimal, old: object) -> bool:
    if not isinstance(old, Decimal) or not value or not old or (value < 0) != (old < 0):
        return False
    ratio = abs(float(value / old))
    return max(ratio, 1 / ratio) <= _CLOSE

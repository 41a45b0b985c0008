"""Wind as aviation and harbours tell it: direction, speed, gusts ('two four zero at one one knots, gusting nineteen'); and courses.

Source of the order: ICAO Annex 10 vol. II, 5.2.1.4 ('wind one six zero degrees one eight knots').
"""
import re
from collections.abc import Sequence
from dataclasses import replace

from ..records.talk import Number
from .degrees import FULL_CIRCLE
from .readout_found import Found
from .view import View

_COURSE = re.compile(r"\b((bring|take) (it|her|him)( (left|right|round|around|about|on))?( to)?|"
                     r"come( (left|right|round|around|about))?( to)?|steer(ing)?|steady( on)?|turn(ing)? (left|right)( to)?|new (course|heading)|"
                     r"heading( is| of)?|(^|(and|then|now|please|to) )head( to| for)?|course( is| of)?)$")
_TAKEN = re.compile(r"\b(bring|take) (it|her|him)( to)?$")
_WIND = frozenset("wind winds gust gusts gusting".split())


def is_course(view: View, number: Number, dives: bool = False) -> bool:
    """'Come to zero one five', 'steady on one eight zero': three digits behind a word of steering; what dives is taken to a depth as well."""
    three = number.form in ("digits", "figures") and len(number.text) == 3 and number.text.isdigit() and number.value <= FULL_CIRCLE and not number.signed
    lead = " ".join(view.words[max(0, number.start - 4):number.start])
    return three and _COURSE.search(lead) is not None and not (dives and _TAKEN.search(lead))


def is_wind_from(view: View, number: Number) -> bool:
    """'Winds light, from two six zero': three digits behind 'from' where a wind is told."""
    three = len(number.text) == 3 and number.text.isdigit() and number.value <= FULL_CIRCLE and not number.signed
    return three and view.words[number.start - 1:number.start] == ("from",) and bool(_WIND & {word.removesuffix("'s") for word in view.words})


def _from(view: View, number: Number) -> bool:
    """'Two four zero at one one knots': three digits of a direction before 'at'."""
    before = next((n for n in view.numbers.values() if n.end == number.start - 1), None)
    return before is not None and before.form in ("digits", "figures") and len(before.text) == 3 and before.value <= FULL_CIRCLE and not before.signed


def wind_told(view: View, found: Sequence[Found], unit: str | None) -> list[Found]:
    """The readouts of a turn with the values of a wind named for what they are. unit: in which the plan tells winds."""
    made = list(found)
    for index, item in enumerate(made):
        before = view.words[item.number.start - 1] if item.number.start else ""
        if before == "at" and item.unit is not None and item.unit.names[0] == "kt" and item.planned is None and item.head is None and _from(view, item.number):
            made[index] = replace(item, words=("wind", "speed"), phrase=None, doubt=("told in the form of a wind",))
            continue
        told = index > 0 and made[index - 1].words == ("wind", "direction") and (before == "at" or made[index - 1].end == item.number.start)
        if not told and not _WIND & {word.lower() for word in item.words}:
            continue
        after = view.words[item.end] if item.end < len(view.words) else ""
        behind = made[index + 1].number.start if index + 1 < len(made) else -1
        paired = index + 1 < len(made) and (after in ("at", "degrees") or behind == item.end) or before == "from"
        if paired and item.unit is None and 0 <= item.number.value <= FULL_CIRCLE and len(item.number.text) == 3:
            made[index] = replace(item, words=("wind", "direction"), planned=None, given_unit="deg")
        elif before in ("gusting", "gust", "gusts"):
            made[index] = replace(item, words=("wind", "gust"), planned=None, given_unit=item.given_unit or unit)
        elif item.unit is not None or before == "at" or told:
            words = item.words if "speed" in item.words else ("wind", "speed")
            made[index] = replace(item, words=words, given_unit=item.given_unit or unit, doubt=() if told else item.doubt)
    return made

"""Numbers that say together what neither says alone: blood pressures, orbits, counts of time, hours and minutes.

Common practice, no source.
"""
from collections.abc import Mapping
from dataclasses import replace

from ..records.talk import Number
from ..units import dimension_of
from .names import ORBIT
from .readout_found import Found
from .readout_units import spoken_unit
from .view import View


def blood_pressure(view: View, values: Mapping[int, Number], number: Number) -> Found | None:
    """'128 over 76': two whole numbers of that size over one another are a blood pressure, whoever reads it out."""
    over = {n.start: n for n in values.values()}
    below = over.get(number.end + 1) if view.words[number.end:number.end + 1] == ("over",) else None
    above = next((n for n in over.values() if n.end == number.start - 1), None) if view.words[number.start - 1] == "over" else None
    high, low = (number, below) if below is not None else (above, number)
    if high is None or low is None or not 70 <= high.value <= 240 or not 35 <= low.value <= 150 or high.value <= low.value or "." in high.text + low.text:
        return None
    name = "systolic" if number is high else "diastolic"
    return Found(number, number.end, ("blood", "pressure", name), None, how="two values over one another")


def orbit(view: View, values: Mapping[int, Number], number: Number) -> Found | None:
    """'Your orbit is 162 by 87': apogee by perigee."""
    if not ORBIT & set(view.words):
        return None
    at = {n.start: n for n in values.values()}
    behind = at.get(number.end + 1) if view.words[number.end:number.end + 1] == ("by",) else None
    before = next((n for n in at.values() if n.end == number.start - 1), None) if view.words[number.start - 1] == "by" else None
    if behind is None and before is None:
        return None
    unit = spoken_unit(view, number.start, number.end)
    larger = number.value >= (behind or before).value  # type: ignore[union-attr]
    return Found(number, unit.end if unit else number.end, ("apogee" if larger else "perigee",), unit, how="one by the other")


def counts_time(view: View, values: Mapping[int, Number], number: Number) -> bool:
    """'One second, two seconds, three': a count goes on."""
    before = next((n for n in values.values() if n.value == number.value - 1 and 0 <= number.start - n.end <= 2), None)
    unit = spoken_unit(view, before.start, before.end) if before is not None else None
    return unit is not None and dimension_of(unit.names[0]) == "time"


def hours_and_minutes(view: View, values: Mapping[int, Number], made: Found) -> bool:
    """'At 2 24': two numbers side by side that can be a time, with no name before them."""
    number = made.number
    ends = {n.end for n in values.values()}
    if view.words[number.start].isalpha() and sum(n.start in ends for n in values.values() if abs(n.start - number.start) <= 3) >= 2:
        return False  # three and more words side by side are a list
    after = values.get(number.end)
    before = next((n for n in values.values() if n.end == number.start), None)
    return any(one is not None and two is not None and made.unit is None and 0 <= one.value < 25 and two.value < 60 and len(two.text) == 2
               and not view.turn.tokens[one.end - 1].ends_clause for one, two in ((number, after), (before, number)))


_SETTINGS, SET_UNIT = (2700, 3150), "inHg"
"""Inches of mercury, told as four figures without the point (common practice where altimeters are set in inches, no source)."""


def altimeter_setting(found: Found) -> Found:
    """'Altimeter two niner niner four' is 29.94; the figures as said are kept beside it."""
    number, words = found.number, {word.lower() for word in found.words}
    setting = "altimeter" in words and words <= {"altimeter", "setting", "new", "local", "field", "the"}
    if not setting or found.unit is not None or len(number.text) != 4 or not _SETTINGS[0] <= number.value <= _SETTINGS[1] or number.value_high is not None:
        return found
    value = number.value.scaleb(-2)
    return replace(found, number=replace(number, value=value, text=str(value), others=(number.value,)), given_unit=SET_UNIT)

"""Units that nobody says and nothing in the talk tells: left open, with the likeliest beside it.

A quantity that is told in one unit wherever English is spoken (volts, amperes, degrees of an angle, beats a minute) keeps it, and so does
one whose unit the session file gives or somebody spoke. A temperature in talk that never says Fahrenheit or Celsius may be either: a
guess written into the table reads like something heard. Common practice, no source.
"""
from collections.abc import Sequence
from dataclasses import replace

from ..records.rows import Field, Row
from ..session import Session
from ..units import canonical, dimension_of
from .talk import Talk

OPEN = "nobody says its unit"
_RIVALS = frozenset("temperature pressure length speed mass volume force".split())
"""Quantities that are told in several units, by country and trade."""
_FIXED = frozenset(("mmHg", "hPa", "inHg", "Mach"))
"""Of blood and of the air's pressure at sea level: one unit by custom of the thing, not of the country."""
_OF_LISTS = "the unit of such a list"
_TWO_SENSES = ("the usual unit of bearing", "the usual unit of nose")
"""A bearing is a direction or a part of a machine, a nose a pitch or a place."""


_BY_DEGREES = frozenset(("F", "deg"))


def without_guesses(talk: Talk, rows: Sequence[Row]) -> list[Row]:
    """The rows; a unit that rests on nothing said is left open, and stands among the other readings of the field."""
    known = _given(talk.session) | {str(item.value) for row in rows if row.kind == "readouts" and (item := row.fields.get("unit")) is not None
                                    and item.value and item.origin == "spoken" and not _by_degrees(item)}
    return [_opened(row, known) for row in rows]


def _by_degrees(unit: Field) -> bool:
    """Fahrenheit, and 'degrees' is all that was said."""
    return unit.value == "F" and set(unit.others) >= _BY_DEGREES


def _given(session: Session) -> set[str]:
    named = [*session.units.values(), *(item.unit for card in session.cards for item in card.readouts),
             *(item.unit for item in session.parameters), *(item.unit for item in session.limits)]
    return {unit for unit in map(canonical, named) if unit}


def _opened(row: Row, known: set[str]) -> Row:
    unit = row.fields.get("unit")
    if row.kind != "readouts" or unit is None or not unit.value:
        return row
    why = unit.why[0] if unit.why else ""
    if str(unit.value) in known and why not in _TWO_SENSES:
        return row
    if unit.origin == "spoken" and _by_degrees(unit):
        return row.with_fields(unit=replace(unit, value="deg", why=("degrees of which scale nobody says",)))
    rival = dimension_of(str(unit.value)) in _RIVALS and unit.value not in _FIXED and why != _OF_LISTS and unit.value != "C"
    if unit.origin not in ("assumed", "carried") or not rival and why not in _TWO_SENSES:
        return row
    return row.with_fields(unit=Field(None, "assumed", "clear", None, (f"{OPEN}; perhaps {unit.value}",), (unit.value,)))

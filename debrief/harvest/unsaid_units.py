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
_CARRIED = frozenset(("what is asked to change", "the speaker's last parameter", "what was just told", "what was just told or asked for"))
_ALTERNATIVES = (frozenset(("m", "cm", "ft")), frozenset(("kt", "m/s", "km/h", "mph")))
"""Talk that speaks two of these tells nothing of a value without its unit."""
_OF_LISTS = "the unit of such a list"
_OF_TALK = "the usual unit of such talk"
_BY_CUSTOM = ("lengths are told in it", "blood pressure is told in mmHg")
_TWO_SENSES = tuple(f"the usual unit of {head}" for head in ("bearing", "nose", "azimuth", "bank", "shadow", "flaps", "elevation", "attitude"))
"""A bearing is a direction or a part of a machine, a nose a pitch or a place, an azimuth a direction or a thruster; flaps are told in degrees, steps
and shares."""


_BY_DEGREES = frozenset(("F", "deg"))


def without_guesses(talk: Talk, rows: Sequence[Row]) -> list[Row]:
    """The rows; a unit that rests on nothing said is left open, and stands among the other readings of the field."""
    readings = [row for row in rows if row.kind == "readouts"]
    spoken = {id(row) for row in readings if (unit := row.fields.get("unit")) is not None and unit.value and unit.origin == "spoken"}
    known = _given(talk.session) | {str(row.get("unit")) for row in readings if id(row) in spoken and not _by_degrees(row.fields["unit"])}
    here = {_at_hand(row) for row in readings if id(row) in spoken}
    planned = {(name.casefold(), canonical(unit)) for name, unit in _named_units(talk.session) if unit}
    made = []
    for row in rows:
        opened = row if _at_hand(row)[1:] in planned else _opened(row, known, here)
        if row.kind == "readouts" and opened.get("unit"):
            here.add(_at_hand(opened))
        made.append(opened)
    return made


def _at_hand(row: Row) -> tuple[int | None, str, str]:
    """Turn, name and unit: a list carries the unit that one of its values has."""
    return row.turn, str(row.get("parameter") or "").casefold(), str(row.get("unit"))


def _by_degrees(unit: Field) -> bool:
    """Fahrenheit, and 'degrees' is all that was said."""
    return unit.value == "F" and set(unit.others) >= _BY_DEGREES


def _given(session: Session) -> set[str]:
    named = [*session.units.values(), *(unit for _, unit in _named_units(session))]
    return {unit for unit in map(canonical, named) if unit}


def _named_units(session: Session) -> list[tuple[str, str | None]]:
    """What the plan asks for and bounds, with its units as written."""
    asked = [item for card in session.cards for item in card.readouts] + list(session.parameters)
    return [(name, item.unit) for item in asked for name in (item.what, *item.also_called)] + [(item.what, item.unit) for item in session.limits]


def _opened(row: Row, known: set[str], here: set[tuple[int | None, str, str]]) -> Row:
    unit = row.fields.get("unit")
    if row.kind != "readouts" or unit is None or not unit.value:
        return row
    if unit.origin == "spoken" and _by_degrees(unit) and "F" not in known:
        return row.with_fields(unit=replace(unit, value="deg", why=("degrees of which scale nobody says",)))
    if unit.origin not in ("assumed", "carried") or not _guessed(row, unit, known, here):
        return row
    return row.with_fields(unit=Field(None, "assumed", "clear", None, (f"{OPEN}; perhaps {unit.value}",), (unit.value,)))


def _guessed(row: Row, unit: Field, known: set[str], here: set[tuple[int | None, str, str]]) -> bool:
    """Whether nothing that is said with the value tells its unit."""
    why, name = unit.why[0] if unit.why else "", row.fields.get("parameter")
    if why == _OF_LISTS:
        return False
    if why == _OF_TALK:
        return all((turn, told) != (row.turn, unit.value) for turn, _, told in here)
    if why in _TWO_SENSES:
        return True
    if (name is None or name.origin != "spoken") and (why not in _BY_CUSTOM or name is not None and bool(_CARRIED & set(name.why))):
        return _at_hand(row) not in here
    other = any(unit.value in kind and (kind - {unit.value}) & known for kind in _ALTERNATIVES)
    return unit.origin == "assumed" and (str(unit.value) not in known or other) and dimension_of(str(unit.value)) in _RIVALS and unit.value not in _FIXED \
        and unit.value != "C"

"""Heights as flights tell them: round thousands without a name, and thousands and hundreds without those words ('thirty-one six').

Common practice, no source.
"""
import re
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from ..records.talk import Number
from ..units import dimension_of
from .readout_found import Found, Memory
from .view import View

_FLIES = frozenset("altitude altimeter mach airspeed runway knots angels ascent descent chute chutes parachute flaps heading aircraft balloon drogue "
                   "apogee climbing airplane aeroplane chase helicopter glider".split())
_SINKS = frozenset("depth seabed submersible diver divers".split())
_DIVES = frozenset("depth depths dive dives submerged periscope seabed keel".split())
_NAMES = frozenset("altitude altimeter height ceiling peak apex".split())
_WITHIN = 12
_THOUSAND = Decimal(1000)
HIGHEST_LEVEL = 100
"""A smaller number is of thousands, unsaid."""
_PASSES = re.compile(r"\b(passing|leaving|(climbing|coming|going|descending) (up |down )?through|^through|levell?ing( off)?( at)?)$")
_STOP = re.compile(r"\b(first|second|third|next|last|deep|deepest|shallow|final) stop( is| will be| comes)?( at)?$")
_CLOSE = 1.6
_LEAST_HEIGHT = 100


def flies(memory: Memory) -> bool:
    """Whether the talk is of a flight, by its words or by its plan."""
    words = memory.units.spoken
    return memory.plan.flies or (len(_FLIES & words) >= 2 or "altitude" in words) and not _SINKS & words


def sinks(memory: Memory) -> bool:
    """Whether the talk is of a dive, by its words; one odd word may be misheard."""
    spoken = memory.units.spoken
    return ("depth" in spoken or len(_DIVES & spoken) > 1) and "altitude" not in spoken


def is_height(words: Sequence[str]) -> bool:
    return bool(_NAMES & {word.lower() for word in words})


def in_thousands(view: View, found: Found, memory: Memory) -> Found:
    """'Altitude is twenty-six four' is 26 400; so is 'thirty-one six' where heights of about that are being told."""
    number = found.number
    if found.unit is not None or found.planned is not None or not _point_unsaid(view, found) or not flies(memory):
        return found
    feet = number.value * _THOUSAND
    told = last_height(view, memory)
    near = told is not None and 1 / _CLOSE <= float(feet / told.number.value) <= _CLOSE
    if not (near and (found.head is None or found.how) or (is_height(found.words) and not found.how)):
        return found
    named = found.words if is_height(found.words) else told.words if told is not None else ("altitude",)
    given = told.given_unit if told is not None else None
    return replace(found, number=replace(number, value=feet.normalize() + 0, text=str(feet), others=(number.value, *number.others)), words=named,
                   given_unit=given or memory.units.by_dimension.get("length", "ft"), phrase=found.phrase if is_height(found.words) else None,
                   doubt=("two readings are fair",))


def of_the_vehicle(found: Found, memory: Memory) -> Found:
    """'Sixty feet, five down': a length that nothing names is the depth of what dives, the height of what flies; a guess, and told as one."""
    if found.words or found.unit is None or dimension_of(found.unit.names[0]) != "length":
        return found
    if found.unit.names[0] not in ("ft", "m", "fathom"):
        return found
    deep = sinks(memory)
    return replace(found, words=("depth",) if deep else ("altitude",)) if deep or (flies(memory) and found.number.value >= _LEAST_HEIGHT) else found


def passes(view: View, number: Number, memory: Memory) -> bool:
    """'Passing sixteen', 'through fifteen thousand', 'levelling at twenty': heights of a flight, told with no word but that it goes by them."""
    lead = " ".join(view.words[max(0, number.start - 3):number.start])
    return _PASSES.search(lead) is not None and flies(memory) and not number.signed and number.value > 0


def is_stop(view: View, number: Number) -> bool:
    """'First stop is at six metres', 'hold the twelve metre stop': where an ascent from depth is broken off."""
    lead = " ".join(view.words[max(0, number.start - 4):number.start])
    return _STOP.search(lead) is not None


def last_height(view: View, memory: Memory) -> Found | None:
    """The height told last, by anybody."""
    return next((old for _, old in memory.near(view.turn, _WITHIN) if is_height(old.words) and old.number.value >= _THOUSAND), None)


def round_thousands(view: View, made: Found, memory: Memory) -> Found | None:
    """'Passing sixty thousand': thousands without a unit or a name are an altitude in flight."""
    spoken = "thousand" in view.words[made.number.start:made.number.end]
    told = last_height(view, memory)
    figures = told is not None and made.number.value % 100 == 0 and made.number.value >= _THOUSAND
    if made.unit is not None or not (spoken or figures) or made.number.value > 400 * _THOUSAND or not flies(memory):
        return None
    if (told is None and made.number.value < 2 * _THOUSAND) or made.number.value % 50 or view.words[made.number.end:made.number.end + 1] in (("on",), ("of",)):
        return None
    unit = told.given_unit if told is not None else None
    return replace(made, words=("altitude",), given_unit=unit or memory.units.by_dimension.get("length", "ft"), how="thousands without a name")


def _point_unsaid(view: View, found: Found) -> bool:
    words = view.words[found.number.start:found.number.end]
    return "." in found.number.text and found.number.form == "decimal" and not {"point", "decimal", "dot"} & set(words) and not any("." in w for w in words)

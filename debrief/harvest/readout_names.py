"""The plain name of a parameter: the words as said, put the way a form or a display would name it.

'amps 27' is a current and 'batteries 25 volts' a battery voltage: a unit that stands for its quantity gives way to it, plurals become one of
their kind, and a name that says nothing of what is measured gets the quantity of the unit that was spoken. Common practice, no source.
"""
import re
from collections.abc import Sequence

from ..units import dimension_of, read_unit
from .degrees import sense
from .parameter_words import HEADS
from .readout_found import Found
from .readout_phrases import COUNTED, head_word
from .readout_words import CONTRASTS

QUANTITIES = {
    "pressure": "pressure", "temperature": "temperature", "potential": "voltage", "current": "current", "acceleration": "acceleration",
    "speed": "speed", "length": "distance", "rotation": "speed", "force": "force", "mass": "mass", "power": "power", "frequency": "frequency",
    "torque": "torque", "charge": "charge", "angle": "angle",
}
"""What is measured in a unit of each dimension, where no other name is said."""
_LEVEL_FROM = 100
_TAG = re.compile(r"[A-Za-z]\d{1,2}")
"""'X1', 'Y2': which of several like gauges."""
_TAGS = re.compile(r"[A-Z]{1,3}\d{1,2}s")
"""'T4s': several of one kind."""
_THINGS = {"vis": ("visibility",), "sat": ("saturation",), "sats": ("saturation",), "resps": ("respiration",), "temp": ("temperature",),
           "temps": ("temperature",), "alt": ("altitude",), "decel": ("deceleration",), "accel": ("acceleration",),
           "nose": ("pitch",), "pitched": ("pitch",), "rolled": ("roll",), "yawed": ("yaw",), "banked": ("bank",),
           "hydraulics": ("hydraulic", "pressure"), "g": ("acceleration",), "wave": ("wave", "height"), "waves": ("wave", "height"), "batteries": ("battery",)}
_PLURAL = frozenset("amp-hours ampere-hours rates revs".split())
"""What forms name in the plural."""
_UNIT_NOUNS = frozenset("amp amps ampere amperes volt volts g's gs rpm knots watts".split())


def plain_name(found: Found, flies: bool = False) -> tuple[str, ...]:
    """The words of the name; empty where neither words nor a unit tell what was measured. flies: a speed is an airspeed, a level an altitude."""
    words = _named(found)
    said = [word.lower() for word in words]
    if said == ["level"] and found.unit is not None and dimension_of(found.unit.names[0]) == "speed":
        return ("airspeed",) if flies else ("speed",)
    turns = found.unit is not None and dimension_of(found.unit.names[0]) == "rotation"
    if flies and said == ["level"] and found.unit is None and found.number.value >= _LEVEL_FROM:
        return ("altitude",)
    return ("airspeed",) if flies and said == ["speed"] and not turns else words


def _named(found: Found) -> tuple[str, ...]:
    words = tuple(dict.fromkeys(part for word in _initials(found.words) for part in _plain(word)))
    unit = found.unit.names[0] if found.unit else found.given_unit if found.how else None  # a name that is carried is carried whole
    if unit is None or found.planned is not None:
        return words
    if unit == "deg" and not words and found.unit is not None and len(found.unit.names) > 1:
        return ()  # degrees of an angle or of heat
    if unit == "deg" and found.unit is not None and len(found.unit.names) == 1 and sense(words, found.number.value) == "temperature" \
            and head_word(words) is None:
        return (*words, "angle")
    if unit in ("deg", "C", "F") and head_word(words) is None and words and not _names_quantity(words) and (kind := sense(words, found.number.value)) != "angle":
        return (*words, "temperature") if kind == "temperature" else words
    if words and dimension_of(unit) == "length":
        return words  # 'sag', 'vis', 'span': what is told in a length has its own name
    if head_word(words) in (None, "cell", "battery") and not _names_quantity(words) and (quantity := QUANTITIES.get(dimension_of(unit) or "")):
        return (*words, quantity)
    if "/" in unit and head_word(words) != "delta-v" and "rate" not in {word.lower() for word in words} and words and HEADS.get(words[-1].lower()) is None:
        return (*words, "rate")
    return words


def _initials(words: Sequence[str]) -> Sequence[str]:
    """'q n h' as a recogniser writes it is QNH."""
    if len(words) >= 2 and words[0].isalpha() and all(len(word) == 1 and word.isalnum() for word in words):
        return ("".join(words).upper(),)
    return words


def _plain(word: str) -> Sequence[str]:
    """One word of a name: a unit as its quantity, a plural as one of its kind."""
    low = word.lower()
    if _TAGS.fullmatch(word):
        return (word[:-1],)
    if low in _UNIT_NOUNS:
        reading = read_unit((low,), 0)
        quantity = QUANTITIES.get(dimension_of(reading.name) or "") if reading else None
        return (quantity,) if quantity else (word,)
    if low in _THINGS:
        return _THINGS[low]
    if low in _PLURAL:
        return (word,)
    for ending, single in (("ies", "y"), ("s", "")):
        if low.endswith(ending) and (low[:-len(ending)] + single) in HEADS and low not in HEADS:
            return (word[:-len(ending)] + single,)
    if low.endswith("s") and low[:-1] in HEADS and low in HEADS and low not in _UNIT_NOUNS and HEADS[low] == HEADS[low[:-1]]:
        return (word[:-1],)
    return ("temperature",) if low == "temperatures" else (word,)


def _names_quantity(words: Sequence[str]) -> bool:
    return any(word.lower() in QUANTITIES.values() for word in words)


def joined(words: Sequence[str], before: Sequence[str], head: str | None) -> tuple[str, ...]:
    """Words of contrast with the head of the phrase before: 'secondary' after 'primary oxygen' gives 'secondary oxygen'."""
    at = next((i for i, word in enumerate(before) if word.lower() in COUNTED or word[:1].isdigit()), None)
    if at and len(words) == 1 and (words[0].lower() in COUNTED or words[0][:1].isdigit()):
        return (*before[:at], words[0], *before[at + 1:])  # 'bearing two vibration', then 'three'
    letters = all(len(word) == 1 and word.isalpha() for word in words)
    tags = all(_TAG.fullmatch(word) for word in words)
    kept = [word for word in before if word.lower() not in CONTRASTS and not word[:1].isdigit() and word.lower() not in COUNTED
            and not (letters and len(word) == 1) and not (tags and _TAG.fullmatch(word))]
    if head is not None and not kept:
        kept = [head]
    first = bool(before) and bool(kept) and before[0] == kept[0] and len(kept) < len(before)
    said = [word for word in words if word not in kept]
    return (*kept, *said) if first else (*said, *kept)


def one_of(word: str) -> str:
    """'drafts' asked for, one draft told."""
    return word[:-1] if word.endswith("s") and not word.endswith(("ss", "us", "is")) and len(word) > 3 else word

"""One thing and several quantities of it: 'Engine oil four point two bar, eighty five degrees', '31.2 volts, 4.5 amps'.

A form has a line for each thing and a column for each quantity: behind a value, one in a unit of another kind is of the same thing.
Common practice, no source.
"""
from collections.abc import Sequence
from dataclasses import replace

from ..units import dimension_of
from .parameter_words import HEADS, INSTRUMENTS, THERMAL, WEAK_HEADS
from .readout_found import Found
from .readout_names import QUANTITIES
from .readout_phrases import Phrase, TurnTerms
from .view import View

_BETWEEN = frozenset(("", *"and at with about now then on the dot nose button even steady".split()))
_FLOWING = frozenset("pressure flow current potential ratio volume mass frequency power".split())
"""What is told of things that get warm: 'degrees' behind one of these are of temperature."""
_MOST_BETWEEN = 3
_QUANTITIES = frozenset("pressure press temperature temp voltage current flow speed level".split())


def other_quantity(view: View, made: Found, before: Found | None) -> Found | None:
    """The value as another quantity of the thing whose value stands right before it; None where it is none."""
    if made.unit is None or before is None or not before.words or made.sort == "target":
        return None
    between = view.words[before.end:made.number.start]
    if made.unit.end in view.numbers and not view.turn.tokens[made.unit.end - 1].ends_clause:
        return None  # 'manifold 24 24 revs 2300', written without commas: the unit names the next value
    same = view.sentence(before.number.start) == view.sentence(made.number.start)
    if not same or len(between) > _MOST_BETWEEN or set(between) - _BETWEEN:
        return None
    mine, theirs = dimension_of(made.unit.names[0]), before.dimension
    warm = theirs in _FLOWING or (theirs is None and bool(THERMAL & {word.lower() for word in before.words}))
    if mine == "angle" and warm and made.unit.names[0] == "deg":
        mine = "temperature"
    quantity, thing = QUANTITIES.get(mine or ""), thing_of(before.words)
    if quantity is None or (theirs is None and mine != "temperature") or mine == theirs or not thing or _one_kind(mine, theirs):
        return None
    return replace(made, words=(*thing, quantity), subject=made.subject or before.subject, how="the parameter of the value before", doubt=before.doubt)


def same_thing(view: View, found: Found, before: Found | None) -> Found:
    """'Thrust bearing oil nineteen degrees, pressure one four five': a quantity alone is of the thing whose value stands right before it."""
    phrase = found.phrase
    if phrase is None or before is None or found.how or found.planned is not None or phrase.link != "next":
        return found
    alone = {word.lower() for word in phrase.words} <= _QUANTITIES
    close = phrase.start == before.end and view.sentence(before.number.start) == view.sentence(found.number.start)
    thing = thing_of(before.words)
    known = before.dimension is not None and before.dimension != replace(found, words=phrase.words).dimension
    if not alone or not close or not known or not thing or before.doubt or {word.lower() for word in before.words} & {word.lower() for word in phrase.words}:
        return found
    return replace(found, words=(*thing, *found.words), how="the parameter of the value before")


_KEELS = frozenset("keel hull us me".split())


def distance_from(view: View, terms: TurnTerms, made: Found, before: Phrase | None) -> Found | None:
    """'Nine point three metres from the corner' with no other name is a distance from it; 'eight metres under my keel', 'of water' are depths of water."""
    named = before is not None and bool(before.words) and not {word.lower() for word in before.words} <= INSTRUMENTS
    if made.unit is None or named or made.sort != "measured" or dimension_of(made.unit.names[0]) != "length":
        return None
    behind = view.words[made.end:made.end + 3]
    if behind[:1] == ("under",) and set(behind[1:]) & _KEELS or behind[:2] == ("of", "water"):
        return replace(made, words=("water", "depth"), how="the word behind the unit")
    phrase = terms.behind(made.end, len(view.words)) if behind[:1] == ("from",) else None
    if phrase is None or not phrase.words or phrase.contrast:
        return None
    return replace(made, words=("distance", "from", *phrase.words), how="the word behind the unit", subject=None)


def _one_kind(one: str | None, two: str | None) -> bool:
    return {one, two} <= {"mass", "force", "pressure", "ratio", "volume"} and "pressure" not in (one, two) or {one, two} <= {"mass", "pressure"}


def thing_of(words: Sequence[str]) -> tuple[str, ...]:
    """The words of a name without its quantity: ('engine', 'oil') of engine oil pressure."""
    return tuple(word for word in words if not _measures(word))


def _measures(word: str) -> bool:
    plain = word.lower() if word.lower() in HEADS else word.lower().removesuffix("s")
    return plain in QUANTITIES.values() or (plain in HEADS and plain not in WEAK_HEADS and HEADS[plain].dimension is not None
                                            and plain not in ("oxygen", "o2", "fuel", "steam", "bearing"))

"""One thing and several quantities of it: 'Engine oil four point two bar, eighty five degrees', '31.2 volts, 4.5 amps'.

A form has a line for each thing and a column for each quantity: behind a value, one in a unit of another kind is of the same thing.
Common practice, no source.
"""
from collections.abc import Sequence
from dataclasses import replace

from ..records.talk import Number, Turn
from ..units import dimension_of
from .parameter_words import HEADS, INSTRUMENTS, THERMAL, WEAK_HEADS
from .readout_found import NO_NAME, Found
from .readout_names import QUANTITIES
from .readout_phrases import COUNTED, Phrase, TurnTerms
from .readout_words import DETERMINERS
from .view import View

_BETWEEN = frozenset(("", *"and at with about now then on the dot nose button even steady".split()))
_FLOWING = frozenset("pressure flow current potential ratio volume mass frequency power".split())
"""What is told of things that get warm: 'degrees' behind one of these are of temperature."""
_MOST_BETWEEN = 3
WAYS, _FASTEST_WAY = frozenset("down forward aft".split()), 200
_READING = frozenset("reading read showing show indicating".split())
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
    warm = theirs in _FLOWING or theirs == "temperature" or (theirs is None and bool(THERMAL & {word.lower() for word in before.words}))
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
    known = before.dimension not in (None, "length") and before.dimension != replace(found, words=phrase.words).dimension
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


def way(view: View, made: Found, clause: tuple[int, int]) -> Found | None:
    """'Three and a half down', 'nine forward', 'down at nineteen', alone in their clauses: how fast, each way by its own name."""
    first, stop = clause
    number = made.number
    lead, tail = view.words[first:number.start], view.words[number.end:stop]
    if made.unit is not None or number.form == "ordinal" or number.value_high is not None or not 0 < number.value < _FASTEST_WAY:
        return None
    name = tail if not lead and len(tail) == 1 else lead[:1] if not tail and lead[1:] in ((), ("at",)) else ()
    return replace(made, words=name, doubt=(NO_NAME,)) if name and set(name) <= WAYS else None


def one_thing(view: View, before: Phrase) -> bool:
    """'Ring A, two thousand pounds': a thing with its letter or number opens the sentence, and is no station that is called."""
    last = before.words[-1]
    tagged = len(before.words) > 1 and (len(last) == 1 and last.isupper() or last.isdigit() or last.lower() in COUNTED)
    return tagged and not before.topic and before.subject is None and before.start == view.sentence(before.start)[0]


def opens_clause(view: View, before: Phrase, number: Number) -> bool:
    """'Swing 10 degrees', 'table to 28 degrees', 'freeboard at the hatch, 0.6 metres': a noun that opens its clause is what the value behind it is of."""
    first = before.start
    while first and view.words[first - 1] in DETERMINERS:
        first -= 1
    if before.topic or first != view.clause(before.start)[0] or not all(word.isalpha() for word in before.words):
        return False
    close = set(view.words[before.end:number.start]) <= _TO
    return close and (before.link == "next" or before.link == "pause" and len(before.words) > 1)


def led_by_preposition(view: View, before: Phrase) -> bool:
    """'On auto, 42 metres', 'on the link, 108', 'ears popped at 250': where or when it was, and hardly what is measured."""
    first = before.start
    while first and view.words[first - 1] in DETERMINERS:
        first -= 1
    return before.link in ("next", "pause") and first > 0 and view.words[first - 1] in _LEADING and not view.turn.tokens[first - 1].ends_clause


_LEADING = frozenset("on at near in by from with over under behind along past".split())
_TO = frozenset(("to", "about", "around", "now", ""))


def read_on(view: View, made: Found, behind: Phrase | None) -> Found | None:
    """'I'm reading three point eight on the suit': what it is of stands behind, and not what of it."""
    reads = made.number.start > 0 and view.words[made.number.start - 1] in _READING
    reads = reads or view.clause(made.number.start) == (made.number.start, behind.end if behind is not None else -1)  # '84, 98 on the rotor'
    if behind is None or not behind.words or made.unit is not None or not reads or view.words[made.end:made.end + 1] != ("on",) \
            or {word.lower() for word in behind.words} <= _NO_PLACES:
        return None
    return replace(made, words=behind.words, phrase=behind, subject=behind.subject, doubt=(NO_NAME,))


_WHERE = frozenset("on in at across".split())
_NO_PLACES = frozenset("nose dot money button head clock board side sides air moment average line minute hour top bottom other others whole "
                       "total spot mark time now present ground moon earth here there "
                       "o'clock way card sheet plan page list book procedure checklist paper placard".split())
_ASKED = frozenset(("the question before", "what the sentence before is about"))


def of_place(view: View, made: Found, told: Found | None, behind: Phrase | None, said: Sequence[tuple[Turn, Found]]) -> Found | None:
    """'Thirty six at the seat', 'eighty three percent in the dewar': where it was told of. What was asked is asked of that thing; a parameter
    told of it before is told again; else the thing alone names a value with a unit. told: what the value is of without its place."""
    if behind is None or not behind.words or behind.contrast or behind.start == made.end or view.words[made.end] not in _WHERE or made.sort == "target":
        return told
    place = {word.lower() for word in behind.words}
    if place & (_NO_PLACES | INSTRUMENTS) or (behind.head is not None and behind.head not in WEAK_HEADS) or behind.subject is not None:
        return told
    if told is not None and told.words and told.how in _ASKED:
        return told if told.planned is not None or place & {word.lower() for word in told.words} else replace(told, words=(*behind.words, *told.words))
    doubtful = told is None or not told.words or bool(told.doubt)
    known = next((old for _, old in reversed(said[-40:]) if place <= {word.lower() for word in old.words} and _may_be(made, old)), None)
    if known is not None and doubtful and (told is not None or made.unit is not None):
        return replace(made, words=known.words, planned=known.planned, given_unit=known.given_unit if made.unit is None else None,
                       how="told in full before", doubt=("the parameter is carried",))
    if made.unit is not None and dimension_of(made.unit.names[0]) != "length" and doubtful and (told is None or not told.words or told.planned is None):
        return replace(made, words=behind.words, phrase=behind, doubt=("only a name, no parameter",))
    return told


def _may_be(made: Found, old: Found) -> bool:
    if made.unit is None:
        ratio = abs(float(made.number.value / old.number.value)) if old.number.value and made.number.value else 1.0
        return max(ratio, 1 / ratio) <= _MOST_APART
    return old.dimension is None or old.dimension in {dimension_of(name) for name in made.unit.names}


_MOST_APART = 3.0


def _one_kind(one: str | None, two: str | None) -> bool:
    return {one, two} <= {"mass", "force", "pressure", "ratio", "volume"} and "pressure" not in (one, two) or {one, two} <= {"mass", "pressure"}


def thing_of(words: Sequence[str]) -> tuple[str, ...]:
    """The words of a name without its quantity: ('engine', 'oil') of engine oil pressure."""
    return tuple(word for word in words if not _measures(word))


def _measures(word: str) -> bool:
    plain = word.lower() if word.lower() in HEADS else word.lower().removesuffix("s")
    return plain in QUANTITIES.values() or (plain in HEADS and plain not in WEAK_HEADS and HEADS[plain].dimension is not None
                                            and plain not in ("oxygen", "o2", "fuel", "steam", "bearing"))

"""What a turn means, as far as saying it again goes: its values with their units, its sense (open, closed; left, right), its words.

Two turns are compared by these, never by wording: 'two zero five' says again '205 bar', 'closed' does not say again 'open'.
"""
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from ..records.talk import Number
from ..units import canonical
from .names import names_thing, pairs_of
from .no_values import called_steps, is_called_step
from .readout_class import denied
from .readout_units import spoken_unit
from .talk import Talk
from .view import View, once, stem

ACKNOWLEDGES = frozenset((
    "roger copy copied wilco understand understood okay ok affirm affirmative yes yeah thanks thank got correct "
    "check sorry right aye noted logged recorded and so oh").split())
OPPOSITES = (
    ("open", "closed"), ("open", "close"), ("open", "shut"), ("on", "off"), ("left", "right"),
    ("up", "down"), ("armed", "safe"), ("north", "south"), ("east", "west"), ("forward", "aft"),
    ("port", "starboard"), ("start", "stop"), ("in", "out"), ("raise", "lower"), ("increase", "decrease"),
    ("plus", "minus"), ("above", "below"), ("rising", "falling"), ("before", "after"),
)
SENSES = frozenset(word for pair in OPPOSITES for word in pair) | {"normal", "auto", "manual", "block", "hold", "min", "max", "mean"}
NUMERIC = frozenset((
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen "
    "twenty thirty forty fifty sixty seventy eighty ninety hundred thousand half quarter point decimal").split())
_EMPTY = NUMERIC | frozenset((
    "the a an all and to at of is are it its it's you your i my we our that this on for in be have has will would "
    "over now please so well from with as uh um er they he she do did me us was there here then just about oh by "
    "i'm we're you're that's we've i've loud clear read reading number").split())
_VALUE_KINDS = frozenset(("readouts", "times", "clock_calls", "identifiers", "comparisons", "time_hacks"))
_UNITS_OF_TIME = {"second": "s", "minute": "min", "hour": "h", "day": "d"}


@dataclass(frozen=True, slots=True)
class Value:
    """A spoken value and its unit as said (canonical; None where no unit word stands beside it). name: it numbers a thing."""

    number: Number
    unit: str | None
    name: bool = False


@dataclass(frozen=True, slots=True)
class Meaning:
    """values in order; words: stems of the words that carry meaning, names left out; senses: words with an opposite.

    acknowledges: begins with a word of acknowledging; asks: ends as a question.
    """

    values: tuple[Value, ...]
    words: frozenset[str]
    senses: frozenset[str]
    acknowledges: bool
    asks: bool


@dataclass(frozen=True, slots=True)
class Comparison:
    """equal, wrong, new: values that came back equal, changed, or stand for themselves; sense: an opposite came back.

    shared: words that both carry.
    """

    equal: tuple[Value, ...]
    wrong: tuple[tuple[Value, Value], ...]
    new: tuple[Value, ...]
    sense: str
    shared: frozenset[str]


def meaning_of(talk: Talk, view: View, *, head: int | None = None, rated: bool = False) -> Meaning:
    """The meaning of a turn, or of its first tokens up to head. rated: ratings are values too, as for a turn that may be read back."""
    stop = len(view.words) if head is None else head
    counted = _counted(view)
    plain = [word for i, word in enumerate(view.words[:stop]) if not _named(view, i) and i not in counted]
    if plain[:1] == ["right"] and view.words[:1] == ("right",) and (len(plain) == 1 or view.turn.tokens[0].ends_clause):
        plain = plain[1:]  # 'Right, ...' opens a turn and is no side
    senses = frozenset(word for word in plain if word in SENSES)
    words = frozenset(stem(word) for word in plain if word not in _EMPTY | ACKNOWLEDGES and word and not word[0].isdigit())
    edges = (*view.words[:3], *view.words[-1:])
    acknowledges = any(word in ACKNOWLEDGES - {"and", "so", "oh"} for word in edges) or ("got", "it") in pairwise(view.words[:min(stop, 9)])
    kinds = _VALUE_KINDS | {"ratings"} if rated else _VALUE_KINDS
    return Meaning(tuple(_values(talk, view, stop, kinds)), words, senses, acknowledges, bool(stop) and view.turn.tokens[stop - 1].text.rstrip().endswith("?"))


def _counted(view: View) -> frozenset[int]:
    """Tokens of numbers and of the units that stand with them."""
    found: set[int] = set()
    for number in view.numbers.values():
        spoken = spoken_unit(view, number.start, number.end)
        found.update(range(number.start, max(number.end, spoken.end if spoken else 0)))
    return frozenset(found)


def _named(view: View, index: int) -> bool:
    return any(mention.start <= index < mention.end and not any(n.start <= mention.start and n.end > mention.end
                                                                for n in view.numbers.values()) for mention in view.names)


def _values(talk: Talk, view: View, stop: int, kinds: frozenset[str]) -> list[Value]:
    """The numbers of a turn that can come back: values, and the numbers of places and things, but no callsign or step."""
    pairs = pairs_of(talk)
    steps = once(talk, "called steps", lambda given: called_steps(given.session))
    found = []
    for number in view.numbers.values():
        kind = talk.claimed(view.turn, number.start, number.end)
        step = _step_called(view, number, steps)
        first = view.clause(number.start)[0]
        called = _called(view, number) or _named(view, number.start) or _callsign(view, number, pairs)
        free = kind is None and not step and not called and not denied(view, first, number.start)
        if number.start < stop and (kind in kinds or free):
            name = kind is None and names_thing(talk, view, number)
            found += [Value(one, _unit(view, number), name) for one in _ends(number)]
    return found


def _step_called(view: View, number: Number, steps: frozenset[str]) -> bool:
    """'One two, vent flow on': the number of a step of the plan, called at the head of a sentence without a unit."""
    return is_called_step(number, steps, view) and number.start == view.sentence(number.start)[0] and spoken_unit(view, number.start, number.end) is None


def _ends(number: Number) -> list[Number]:
    """A range as its two ends ('between seven and eight')."""
    if number.value_high is None:
        return [number]
    low = replace(number, value_high=None, text=f"{number.value:f}")
    return [low, replace(low, value=number.value_high, text=f"{number.value_high:f}", others=())]


def _callsign(view: View, number: Number, pairs: frozenset[tuple[str, str]]) -> bool:
    return number.start > 0 and (view.words[number.start - 1], str(number.value)) in pairs


def _called(view: View, number: Number) -> bool:
    """'Roger, Seven.', 'fives': a number spelt as a name is, or a readability."""
    token = view.turn.tokens[number.start]
    inside = number.start > 0 and not view.turn.tokens[number.start - 1].ends_sentence
    word = token.norm
    return (inside and token.text[:1].isupper() and number.end - number.start == 1) or (word.endswith("s") and word[:-1] in _EMPTY)


def _unit(view: View, number: Number) -> str | None:
    spoken = spoken_unit(view, number.start, number.end)
    if spoken is not None:
        names = getattr(spoken, "names", None) or ()
        return canonical(names[0]) if names else None
    after = view.words[number.end] if number.end < len(view.words) else ""
    return _UNITS_OF_TIME.get(after.removesuffix("s"))


def compare(said: Meaning, back: Meaning) -> Comparison:
    """What of the first came back in the second, and how."""
    left = list(said.values)
    equal, other = [], []
    for value in back.values:
        partner = next((given for given in left if (same_value(given.number, value.number) or _unsigned_time(given, value))
                        and _units_fit(given, value)), None)
        if partner is not None:
            left.remove(partner)
            equal.append(value)
        elif _joined(said.values, value) or any(same_value(given.number, value.number) and _units_fit(given, value)
                                                for given in said.values):
            equal.append(value)
        else:
            other.append(value)
    wrong, new = [], []
    for value in other:
        partner = next((given for given in left if _changed(given, value)), None)
        if partner is None:
            new.append(value)
        else:
            left.remove(partner)
            wrong.append((partner, value))
    mine, theirs = ([value for value in one.values if not value.name] for one in (said, back))
    turned = [(given, value) for given, value in zip(mine, theirs, strict=False) if given.number.value and given.number.value == -value.number.value]
    if turned and len(mine) == len(theirs) > 1 and not wrong and not new:  # 'left minus 5.7, right 5.7', said again with its signs changed about
        wrong, equal = turned, [value for value in equal if all(value is not back for _, back in turned)]
    fresh = [value for value in new if not value.name]
    if len(mine) == len(theirs) > len(equal) > 0 and len(fresh) == 1 and not wrong:
        given = mine[theirs.index(fresh[0])]
        if given in left:  # a list in its order, with one value of it changed
            wrong, new = [(given, fresh[0])], [value for value in new if value.name]
    return Comparison(tuple(equal), tuple(wrong), tuple(new), _turned(said.senses, back.senses), said.words & back.words)


def _joined(given: Sequence[Value], value: Value) -> bool:
    """Two values read back in one string of digits ('two four zero eleven')."""
    digits = [re.sub(r"\D", "", item.number.text) for item in given]
    return len(value.number.text) > 3 and any(a + b == value.number.text for a, b in pairwise(digits))


def same_value(one: Number, other: Number) -> bool:
    """Equal in one of their fair readings, or the same long string of digits."""
    readings = {one.value, *one.others}
    theirs = {other.value, *other.others, *([other.value_high] if other.value_high is not None else [])}
    digits, others = (re.sub(r"\D", "", number.text) for number in (one, other))
    return bool(readings & theirs) or (len(digits) > 1 and digits == others and "." in one.text + other.text) or (
        len(digits) > 2 and digits == others)


def _unsigned_time(given: Value, value: Value) -> bool:
    """'T minus three minutes' said again as 'three minutes'."""
    return (given.unit in _UNITS_OF_TIME.values() and given.number.signed and not value.number.signed
            and abs(given.number.value) == value.number.value)


def _units_fit(one: Value, other: Value) -> bool:
    """The same unit, or one left out, or 'fifteen litres' for 'fifteen litres a minute'."""
    if one.unit is None or other.unit is None or one.unit == other.unit:
        return True
    return f"{one.unit}/" in f"{other.unit}/"[:len(one.unit) + 1] or f"{other.unit}/" in f"{one.unit}/"[:len(other.unit) + 1]


def _changed(given: Value, value: Value) -> bool:
    """How a value comes back wrong: another figure of the same unit, its digits swapped, one digit changed, another unit."""
    if given.unit is not None and given.unit == value.unit:
        return True
    if same_value(given.number, value.number):
        return True
    pointless = ("." in given.number.text) != ("." in value.number.text) and len(re.sub(r"\D", "", value.number.text)) > 2
    if not pointless and given.number.value.as_tuple().exponent != value.number.value.as_tuple().exponent:
        return False
    return changed_digits(given, value)


def changed_digits(given: Value, value: Value) -> bool:
    """The same digits in another order, or one digit changed."""
    a, b = (re.sub(r"\D", "", item.number.text) for item in (given, value))
    if sorted(a) == sorted(b) and len(a) > 1:
        return True
    return len(a) == len(b) > 1 and sum(x != y for x, y in zip(a, b, strict=True)) == 1


def _turned(said: frozenset[str], back: frozenset[str]) -> str:
    """The sense that came back as its opposite, in words ('open' for 'closed'); '' where none did."""
    for one, other in OPPOSITES:
        for given, returned in ((one, other), (other, one)):
            if given in said and returned in back and returned not in said and given not in back:
                return f"{returned!r} for {given!r}"
    return ""


def text_of(values: Sequence[Value]) -> str:
    return ", ".join(f"{value.number.text} {value.unit}" if value.unit else value.number.text for value in values)

"""Ratings of what no plan lists: 'How's the heat, one to five?' 'Heat's a four. Breathing a two.'

The question tells the scale: by its ends, by its height ('out of ten'), by its name ('workload?', 'Cooper Harper?'), or only asks for ratings. What
is rated is what the question or the answer names; once rated it is known, and may be rated anew unasked.
"""
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from ..session import Scale
from ..wording.english import is_function_word
from .parameter_words import HEADS
from .rating_axes import KNOWN_SCALES
from .rating_values import HEDGES as MAYBE
from .rating_values import Value
from .readout_units import spoken_unit
from .readout_words import FILLERS, HEDGES, PREPOSITIONS
from .view import View, phrases

OPEN_TURNS = 5
MOST_WORDS = 3
UNSCALED = "as asked"
"""Name of the scale where a question asks for ratings and tells none."""
_RATES = frozenset("rate rating rated scale ratings".split())
_LINKS = frozenset("is are was were 's a an the at i'd say call it give i'll still maybe about only just for me that's it's and had has got make put "
                   "how's quite very rather feels feel like better worse was "
                   "actually no sorry correction now again noted copy copied roger thanks".split()) | HEDGES | FILLERS
_SAID_OF = frozenset("scale your how's out ten ten's worst best easy hard good bad from".split())
_OPINION = phrases("i'd say | i'd give | call it | give it | make it | make that | i say | i'd call it | i'd rate | rate it | out of | feels like | say a")
_ASKS_RATINGS = phrases("ratings | your rating | a rating | the rating | rating please | you rate | please rate | rate it | rate that")
"""Not 'rate' alone, which is a speed as often."""
_CHANGED = phrases("make that | make it | say | no | sorry | call it | correction")
_HOW = frozenset(("how's", "how", "hows"))
_ALL_ELSE = frozenset("else rest others remainder".split())
_SHORT = 7
_LIKE = frozenset((("out", "of"),))
_LOWEST = (0, 1)


@dataclass(frozen=True, slots=True)
class Opened:
    """What may be rated from a turn on: the scale, and what the question names ('' where it names nothing)."""

    turn: int
    scale: Scale
    name: str


@dataclass(frozen=True, slots=True)
class Given:
    """One rating: what of, its value, and another that was said with 'maybe'."""

    name: str
    value: Value
    alt: Value | None = None


def opened(view: View, scales: Sequence[Scale], known: Mapping[str, Scale]) -> Opened | None:
    """What a turn asks to be rated, or takes up again of what was rated before (known, by its name)."""
    asked = scale_asked(view, scales)
    if asked is not None:
        return Opened(view.turn.index, *asked)
    if not view.numbers and len(view.words) <= _SHORT:
        named = next((scale for scale in scales if _holds(view, scale.name)), None)
        if named is not None:
            return Opened(view.turn.index, named, named.name)
    if view.asks(0, len(view.words)):
        trade = next((scale for scale in KNOWN_SCALES if _holds(view, scale.name.replace("-", " "))), None)
        if trade is not None:
            return Opened(view.turn.index, trade, "")
    return None


def _holds(view: View, name: str) -> bool:
    words = tuple(name.lower().split())
    return any(view.has(words, at) for at in range(len(view.words)))


def taken_up(view: View, values: Sequence[Value], scales: Sequence[Scale], known: Mapping[str, Scale]) -> Opened | None:
    """What is rated unasked: by its height ('steering's a four out of five'), as before ('steering, make that a five'), or as an opinion on the
    session's only scale."""
    for index, value in enumerate(values):
        own = free_axis(view, values[index - 1].end if index else 0, value.start)
        if value.of is not None and own:
            scale = next((scale for scale in scales if scale.high == value.of), None)
            return Opened(view.turn.index, scale or Scale(name=f"1 to {value.of}", low=1, high=int(value.of)), own)
        if own in known and "was" not in view.before(value.start, 3):
            return Opened(view.turn.index, known[own], own)
        if len(scales) == 1 and own and opinion(view, value) and not value.value % 1:
            return Opened(view.turn.index, scales[0], own)
    return None


def opinion(view: View, value: Value) -> bool:
    """'I'd say a four', 'a three', 'four out of five': said as a judgement."""
    first, _ = view.sentence(value.start)
    return view.before(value.start) in (("a",), ("an",)) or view.find(_OPINION, max(first, value.start - 4), value.start) is not None \
        or view.words[value.end:value.end + 2] in _LIKE


def scale_asked(view: View, scales: Sequence[Scale]) -> tuple[Scale, str] | None:
    """The scale whose ends or height a question names, and what it asks to be rated ('' where it names nothing)."""
    asks = "?" in view.turn.text or bool((_RATES | _HOW) & set(view.words)) or "please" in view.words
    for number in view.numbers.values() if asks else ():
        low, high = number.value, number.value_high
        if high is None and view.before(number.start, 2) in _LIKE:
            low, high = Decimal(1), number.value
        if high is None or low not in _LOWEST or not 3 <= high <= 20 or high % 1:
            continue
        first, _ = view.sentence(number.start)
        first = next((i for i in range(first, number.start) if view.words[i] in _HOW), first)
        known = next((scale for scale in scales if (scale.low, scale.high) == (int(low), int(high))), None)
        return known or Scale(name=f"{low} to {high}", low=int(low), high=int(high)), _name(_words(view, first, number.start))
    if asks and view.find(_ASKS_RATINGS) is not None and not view.numbers.keys() - _of_places(view):
        return Scale(name=UNSCALED, low=0, high=10), _last_asked(view)
    return None


def _of_places(view: View) -> set[int]:
    """Numbers with a unit: 'in the first hundred feet'."""
    return {start for start, number in view.numbers.items() if number.form == "ordinal" or spoken_unit(view, start, number.end) is not None}


def _last_asked(view: View) -> str:
    """'Pilot, ratings, please. Pitch control in the first hundred feet?' -> 'pitch control'."""
    first, last = view.sentences[-1]
    stop = next((i for i in range(first, last) if view.words[i] in PREPOSITIONS), last)
    words = _words(view, first, stop)
    return "" if _RATES & set(words) else _name(words)


def _words(view: View, first: int, stop: int) -> list[str]:
    named = {i for mention in view.names for i in range(mention.start, mention.end)}
    return [view.words[i] for i in range(first, stop) if i not in named]


def free_axis(view: View, low: int, start: int) -> str:
    """What stands before a value from token low on: 'Heat's a four' -> 'heat', 'for holding heading, four'; '' where only linking words do."""
    first, _ = view.sentence(start)
    low = max(low, first, *(n.end for n in view.numbers.values() if n.end <= start and n.form != "ordinal"))
    unit = next((spoken for n in view.numbers.values() if n.end == low and (spoken := spoken_unit(view, n.start, n.end))), None)
    low = unit.end if unit else low
    near = _name(_words(view, max(low, view.clause(start)[0]), start))
    return near or (_name(_words(view, first, start)) if low == first else "")


def _behind(view: View, value: Value, stop: int) -> str:
    """'Three vertical, four lateral': what stands right behind a value that begins its clause."""
    last = min(stop, view.clause(value.start)[1])
    words = _words(view, value.end, last)
    return " ".join(words) if 0 < len(words) <= 2 and _name(words) == " ".join(words) else ""


def given(view: View, values: Sequence[Value], free: Opened) -> Iterator[Given]:
    """The ratings of a turn on the scale that was asked."""
    scale, name, made = free.scale, free.name, list[Given]()
    for index, value in enumerate(values):
        low = values[index - 1].end if index else 0
        own = free_axis(view, low, value.start)
        behind = _behind(view, value, values[index + 1].start if index + 1 < len(values) else len(view.words)) if not own and value.value <= scale.high else ""
        if not scale.low <= value.value <= scale.high or value.of not in (None, Decimal(str(scale.high))):
            continue
        led_by_for = view.words[view.sentence(value.start)[0]] == "for"
        if _measures(own) and not opinion(view, value) and own != free.name and not led_by_for:
            continue
        name = free.name if _ALL_ELSE & set(view.words[low:value.start]) else name
        if made and not own and not behind:
            if view.find(MAYBE, low, value.start) is not None:
                made[-1] = Given(made[-1].name, made[-1].value, value)
                continue
            if made[-1].value.value == value.value:
                continue
            if view.find(_CHANGED, low, value.start) is not None:
                made.pop()
        name = own or behind or name
        if name:
            made.append(Given(name, value))
    yield from made


def _measures(name: str) -> bool:
    """'tension five': told by an instrument."""
    return any(word in HEADS and HEADS[word].dimension is not None for word in name.split())


def _name(words: Sequence[str]) -> str:
    kept: list[str] = []
    for word in words:
        if word in PREPOSITIONS and kept:
            break  # 'the turn into the dead engine'
        if word not in _LINKS and not is_function_word(word) and word not in _RATES | _SAID_OF and word not in PREPOSITIONS:
            kept.append(word.removesuffix("'s"))
    return " ".join(kept) if len(kept) <= MOST_WORDS and all(word.isalpha() for word in kept) else ""

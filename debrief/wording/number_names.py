"""Numbers that were run together because a name stands before a value: 'number two two oh five' is number two and 205.

Digits are parted from what follows only on evidence in the same words: the name goes on in order ('bearing one twelve, bearing two
fifteen'), or the rest begins anew in a way that no digit string does ('T five six hundred'). Also here: 'wind two eight zero eighteen',
and powers of ten ('four times ten to the minus five').
"""
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from ..records.talk import Number
from .number_words import DIGITS, TEENS, TENS

_NO_NAMES = frozenset("is at of to and the a an by in on or from with reads now about around point minus plus i'm we're it's for than over still "
                      "was are shows showing up down out off be gives got have has see copy roger say".split())
_TELLS = frozenset("is at was reads says shows went has looks".split())
_MEASURED = frozenset("power speed airspeed altitude height depth heading current voltage torque thrust flow weight pulse force rpm mass".split())
"""What there is one of and what has no number of its own ('power three twenty ... power two sixty')."""
_NO_KINDS = frozenset("that this it there now then only just still number no".split())
_WINDS = frozenset("wind winds wind's".split())
_LONG = frozenset((*TEENS, *TENS))
_HUNDREDS = frozenset("hundred thousand million".split())
MOST_POWER = 15


def named_apart(found: Sequence[Number], words: Sequence[str]) -> tuple[set[int], set[int]]:
    """First tokens of numbers whose first digit is a name, and of directions with a wind speed behind them. words: as written."""
    plain = [word.strip(".,;:?!\"'()").lower().removesuffix("'s").removesuffix("’s") for word in words]
    digit_first = [number for number in found if number.end - number.start >= 2 and _digit(plain, number.start)]
    alone = _named_alone(words, plain)
    cuts = {number.start for number in digit_first
            if _goes_on(number, found, plain) or _begins_anew(number, plain) or _another_of_its_kind(number, plain, alone)}
    cuts |= set(_counted_on(found, words, plain, cuts))
    winds = {number.start for number in found if _is_wind(number, plain)}
    return cuts, winds - cuts


def _digit(plain: Sequence[str], index: int) -> int:
    """1 to 9 where one digit stands at this token, else 0."""
    word = plain[index]
    value = DIGITS.get(word, int(word) if word.isdecimal() and len(word) == 1 else 0)
    return value if 0 < value <= 9 else 0


def _noun(plain: Sequence[str], index: int) -> str:
    """The word before a token where it can be a name of things, in the singular."""
    word = plain[index - 1] if index else ""
    fits = word.isalpha() and word not in _NO_NAMES and word not in DIGITS and word not in _LONG and word not in ("hundred", "thousand", "decimal")
    return word.removesuffix("s") if fits and len(word) > 2 else word if fits else ""


def _goes_on(number: Number, found: Sequence[Number], plain: Sequence[str]) -> bool:
    """The same noun stands before a number that begins one higher or one lower; 'heater, one hundred four, bed heater's two hundred' counts nothing."""
    if plain[number.start + 1] in _HUNDREDS:
        return False
    noun, value = _noun(plain, number.start), _digit(plain, number.start)
    if noun in _MEASURED:
        return False
    others = {_digit(plain, other.start) for other in found if other is not number and noun and _noun(plain, other.start) == noun
              and (other.end == other.start + 1 or plain[other.start + 1] not in _HUNDREDS)}
    return bool({value - 1, value + 1} & (others - {0}))


def _named_alone(words: Sequence[str], plain: Sequence[str]) -> set[tuple[str, int]]:
    """Nouns with a digit that is told something of: 'jet one's at seven', 'gauge three peaked at', 'bag one is'."""
    found = set()
    for index in range(1, len(plain) - 1):
        told = words[index].lower().endswith(("'s", "’s")) or plain[index + 1] in _TELLS or plain[index + 1].endswith("ed")
        if told and _digit(plain, index) and (noun := _noun(plain, index)) and noun not in _NO_KINDS | _MEASURED:
            found.add((noun, _digit(plain, index)))
    return found


def _another_of_its_kind(number: Number, plain: Sequence[str], alone: set[tuple[str, int]]) -> bool:
    """'Gauge three peaked at six forty, gauge seven four ten': a kind of thing whose numbers are single digits, and another of it."""
    value = _digit(plain, number.start)
    return plain[number.start + 1] not in _HUNDREDS and any(noun == _noun(plain, number.start) and other != value for noun, other in alone)


def _begins_anew(number: Number, plain: Sequence[str]) -> bool:
    """'T five six hundred and ninety': a digit, then a whole number of hundreds, behind a letter; digits are never said so. 'Oh two ninety' is oxygen."""
    letter = number.start > 0 and len(plain[number.start - 1]) == 1 and plain[number.start - 1] not in "ai"
    after = plain[number.start + 1:number.end]
    gas = number.start > 0 and plain[number.start - 1] in ("oh", "o") and plain[number.start] == "two" and bool(after) and after[0] in _LONG
    return gas or letter and len(after) >= 2 and after[0] in DIGITS and after[1] == "hundred"


def _counted_on(found: Sequence[Number], words: Sequence[str], plain: Sequence[str], cuts: set[int]) -> Iterator[int]:
    """'three is eighteen, four eleven'; 'one's one sixty. Two one fifty two': the names count on, each at the head of a clause."""
    last = 0
    for index in range(len(words)):
        number = next((n for n in found if n.start == index), None)
        value = _digit(plain, index)
        opens = index == 0 or words[index - 1][-1:] in ".,;:" or plain[index - 1] == "and"
        if not value:
            continue
        alone = number is None or number.end == index + 1
        told = words[index].lower().endswith(("'s", "’s")) or plain[index + 1:index + 2] in (["is"], ["reads"], ["at"])
        if index in cuts or (alone and told and (opens or _noun(plain, index) != "")):
            last = value
        elif last and number is not None and number.end - index >= 2 and opens and value == last + 1:
            yield index
            last = value
        elif opens and number is not None:
            last = 0


def _is_wind(number: Number, plain: Sequence[str]) -> bool:
    """'Wind two eight zero eighteen': three digits of direction, then the speed in one breath."""
    said = plain[number.start:number.end]
    digits = len(said) in (4, 5) and all(word in DIGITS for word in said[:3]) and said[3] in _LONG
    return digits and bool(_WINDS & set(plain[max(0, number.start - 6):number.start]))


def to_the_power(found: Sequence[Number], words: Sequence[str]) -> list[Number]:
    """'Two times ten to the minus five' as one number."""
    plain = [word.strip(".,;:?!").lower() for word in words]
    made = list(found)
    for one, ten, power in zip(found, found[1:], found[2:], strict=False):
        joints = (plain[one.end:ten.start], ten.value, plain[ten.end:power.start])
        if joints[0] in (["times"], ["by"]) and joints[1:] == (10, ["to", "the"]) and power.value == power.value.to_integral_value() \
                and abs(power.value) <= MOST_POWER:
            value = f"{one.value * Decimal(10) ** int(power.value):f}"
            at = made.index(one)
            made[at:at + 3] = [replace(one, end=power.end, value=Decimal(value), text=value, form="decimal", others=())]
    return made

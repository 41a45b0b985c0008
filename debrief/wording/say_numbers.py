"""Numbers to the words a voice loop says for them: the other way round from spoken_numbers.

Digit by digit with "decimal" or "point" (ICAO Annex 10 vol. II, 5.2.1.4; FAA AIM 4-2), as a cardinal, and in pairs ("twenty nine
fifty": common practice, no source).
"""
from decimal import Decimal
from functools import lru_cache

_DIGITS = "zero one two three four five six seven eight nine".split()
_TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
_TENS = "_ _ twenty thirty forty fifty sixty seventy eighty ninety".split()


@lru_cache(maxsize=16384)
def ways_to_say(text: str) -> tuple[str, ...]:
    """Spoken forms of a number written in digits ('3.49', '014', '-2'), the likeliest first; nothing for a text that is no number."""
    sign, digits = ("minus ", text[1:]) if text[:1] in "-−" else ("", text)
    whole, dot, fraction = digits.partition(".")
    if not (whole + fraction).isdigit() or not whole:
        return ()
    ways = _whole_ways(whole)
    if dot:
        spelt = spell(fraction)
        ways = [f"{way} point {spelt}" for way in (spell(whole), *ways)]
    return tuple(dict.fromkeys(sign + way for way in ways))


def spell(digits: str) -> str:
    """Digit by digit."""
    return " ".join(_DIGITS[int(digit)] for digit in digits)


def _whole_ways(digits: str) -> list[str]:
    number = int(digits)
    if len(digits) == 1:
        return [_DIGITS[number]]
    if digits[0] == "0" or number >= 1_000_000:
        return [spell(digits)]
    ways = [spell(digits), cardinal(number)]
    if len(digits) == 2:
        ways.reverse()
    elif len(digits) in (3, 4) and digits[-2] != "0":
        ways.append(f"{cardinal(int(digits[:-2]))} {cardinal(int(digits[-2:]))}")
    return ways


def cardinal(number: int) -> str:
    """0 to 999 999 as in 'one hundred forty'."""
    for size, name in ((1000, "thousand"), (100, "hundred")):
        if number >= size:
            rest = number % size
            return f"{cardinal(number // size)} {name}" + (f" {cardinal(rest)}" if rest else "")
    if number < 10:
        return _DIGITS[number]
    if number < 20:
        return _TEENS[number - 10]
    return _TENS[number // 10] + (f" {_DIGITS[number % 10]}" if number % 10 else "")


def plain(value: Decimal) -> str:
    """Digits of a value, places kept, no exponent."""
    return f"{value:f}"

"""Words of a spoken number as atoms, from words as typists and recognisers write them.

Sources: ICAO Annex 10 vol. II 5.2.1.4 and UK CAP 413 (digit by digit, "decimal", WUN TOO TREE FOWER FIFE AIT NINER), FAA AIM 4-2
("point"), ITU Radio Regulations App. 14 (NADAZERO ...), ACP 125; "oh", "nought", "zip", "triple" are common practice, no source.
"to", "too", "for", "won", "ate" are never digits here.
"""
import re
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

AtomKind = Literal["digit", "teen", "tens", "magnitude", "point", "figures", "multiple", "sign", "ordinal", "half", "quarter", "and",
                   "a", "to", "between", "oh", "plural", "couple", "other"]

DIGITS = {"zero": 0, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
          "niner": 9, "fife": 5, "tree": 3, "fower": 4, "ait": 8, "wun": 1, "nought": 0, "naught": 0, "zip": 0, "nil": 0,
          "nadazero": 0, "unaone": 1, "bissotwo": 2, "terrathree": 3, "kartefour": 4, "pantafive": 5, "soxisix": 6,
          "setteseven": 7, "oktoeight": 8, "novenine": 9}
TEENS = {"ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16, "seventeen": 17,
         "eighteen": 18, "nineteen": 19}
TENS = {"twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90}
MAGNITUDES = {"hundred": 100, "thousand": 1000, "tousand": 1000, "tou-zand": 1000, "tou-sand": 1000, "million": 1_000_000}
MULTIPLES = {"double": 2, "triple": 3, "treble": 3}
ORDINALS = {"first": 1, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7, "eighth": 8, "ninth": 9, "tenth": 10,
            "eleventh": 11, "twelfth": 12, "thirteenth": 13, "fourteenth": 14, "fifteenth": 15, "sixteenth": 16, "seventeenth": 17,
            "eighteenth": 18, "nineteenth": 19, "twentieth": 20, "thirtieth": 30}
PLURALS = {**{f"{word}s": n for word, n in DIGITS.items() if n in (1, 2, 3, 4, 5, 7, 8, 9) and len(word) < 6}, "sixes": 6, "tens": 10}
_FIXED: dict[str, tuple[AtomKind, int]] = {
    **{word: ("digit", n) for word, n in DIGITS.items()}, **{word: ("teen", n) for word, n in TEENS.items()},
    **{word: ("tens", n) for word, n in TENS.items()}, **{word: ("magnitude", n) for word, n in MAGNITUDES.items()},
    **{word: ("multiple", n) for word, n in MULTIPLES.items()}, **{word: ("ordinal", n) for word, n in ORDINALS.items()},
    **{word: ("plural", n) for word, n in PLURALS.items()},
    "couple": ("couple", 2), "dozen": ("couple", 12), "point": ("point", 0), "decimal": ("point", 0), "dot": ("point", 0),
    "half": ("half", 1), "halves": ("half", 1),
    "quarter": ("quarter", 1), "quarters": ("quarter", 1), "and": ("and", 0), "a": ("a", 1), "an": ("a", 1), "to": ("to", 0),
    "between": ("between", 0), "oh": ("oh", 0), "o": ("oh", 0), "plus": ("sign", 1), "minus": ("sign", -1), "negative": ("sign", -1),
}
NUMBER_WORDS = frozenset({*DIGITS, *TEENS, *TENS, *MAGNITUDES, *MULTIPLES, *ORDINALS, "point", "decimal", "half", "quarter", "second",
                          "to", "too", "for", "won", "ate", "oh", "plus", "minus"})
"""Words that no correction may write, change or delete."""

_FIGURES = re.compile(r"([+\-−])?(\d{1,3}(?:,\d{3})+|\d+)(\.\d+)?")
_SLIPS = re.compile(r"(\d)[*](\d)")
_NAME = re.compile(r"\d[A-E]")
_FRACTION = re.compile(r"(\d+)/(\d+)")
_ORDINAL = re.compile(r"(\d+)(?:st|nd|rd|th)")
_PARTS = (2, 3, 4, 8, 10, 16, 32)
_LEADING = "\"'([{“‘¿*"
_TRAILING = "\"')]}”’*"


@dataclass(frozen=True, slots=True)
class Atom:
    """One word, or one piece of a hyphenated one. text: digits as written, zeros kept; suffix: letters written behind figures;

    after: punctuation behind it ('' = none, so the next atom may belong to it); glued: written in one word with
    the one before; width: words it covers; alike: a word that sounds like this digit, read as one on what stands around it.
    """

    kind: AtomKind
    value: Decimal
    text: str
    token: int
    after: str = ""
    suffix: str = ""
    glued: str = ""
    width: int = 1
    alike: bool = False


ZERO = Decimal(0)
TENTHS = {"tenths": 1, "hundredths": 2, "hundredth": 2, "thousandths": 3, "thousandth": 3}
_POINT_NOUNS = frozenset("dew set test way check boiling melting freezing flash cloud match bubble trip switch data reference aim pour".split())
_GREEK = frozenset("alpha beta gamma delta theta phi psi".split())


def atoms_of(words: list[str]) -> list[Atom]:
    """Every word as one atom or more, in order."""
    atoms = [atom for index, word in enumerate(words) for atom in _atoms(word, index)]
    return [replace(atom, kind="other") if atom.kind == "point" and atom.token and _no_decimal(words, atom.token) else atom for atom in atoms]


def _no_decimal(words: list[str], token: int) -> bool:
    """'dew point 64', 'set point four', 'H dot seventeen hundred' (a rate of change): a noun, and no decimal point."""
    before, word = (words[i].strip(_LEADING + _TRAILING + ".,;:?!").lower() for i in (token - 1, token))
    return before in _POINT_NOUNS if word == "point" else word == "dot" and (len(before) == 1 and before.isalpha() and before not in "oa" or before in _GREEK)


_LONGEST = 60
"""Characters of a word that may be figures; what a stuck recogniser makes is longer."""


def _atoms(word: str, token: int) -> list[Atom]:
    core = word.lstrip(_LEADING)
    bare = core.rstrip(_TRAILING)
    trimmed = bare.rstrip(".,;:?!…—")
    after = bare[len(trimmed):] or ("," if word.endswith("—") else "")
    low = trimmed.lower()
    fixed = _FIXED.get(low)
    if fixed is None and low.endswith(("'s", "’s")) and (low[:-2] in TENS or low[:-2] in TEENS or low[:-2] in MAGNITUDES):
        fixed, after = _FIXED[low[:-2]], after or "'"  # 'two forty's the red line'
    if fixed is not None:
        return [Atom(fixed[0], Decimal(fixed[1]), str(fixed[1]), token, after, "negative" if low == "negative" else "")]
    if _NAME.fullmatch(trimmed) or len(trimmed) > _LONGEST:
        return [Atom("other", ZERO, low, token, after)]
    if "/" in low and not low.startswith("+/") and (pair := _slashed(low, token, after)):
        return pair
    if "-" in low or "–" in low:
        pieces = _hyphenated(low, token, after)
        if pieces:
            return pieces
    found = _figures(low, token, after) if any(char.isdigit() for char in low) else None
    return [found] if found else [Atom("other", ZERO, low, token, after)]


def _slashed(low: str, token: int, after: str) -> list[Atom]:
    """'160/18', '120/80': two values in one word; '3/4' stays a fraction."""
    found = _FRACTION.fullmatch(low)
    if not found or (int(found.group(2)) in _PARTS and int(found.group(1)) < int(found.group(2))):
        return []
    one, two = found.groups()
    return [Atom("figures", Decimal(one), one, token, "/"), Atom("figures", Decimal(two), two, token, after)]


def _hyphenated(low: str, token: int, after: str) -> list[Atom]:
    parts = [part for part in re.split(r"[-–]", low) if part]
    if len(parts) < 2 or low[0] in "-–":
        return []
    made: list[Atom] = []
    for position, part in enumerate(parts):
        fixed = _FIXED.get(part)
        if fixed and fixed[0] not in ("and", "a", "to", "between"):
            atom: Atom | None = Atom(fixed[0], Decimal(fixed[1]), str(fixed[1]), token)
        else:
            atom = _figures(part, token, "") if any(c.isdigit() for c in part) else None
        if atom is None:
            if position and made and all(p.isalpha() for p in parts[position:]):  # "ninety-second", "30-minute", "five-point"
                made.append(Atom("other", ZERO, part, token, after))
                return made
            return []
        last = position == len(parts) - 1
        made.append(Atom(atom.kind, atom.value, atom.text, token, after if last else "", atom.suffix, "-" if position else ""))
    return made


def _figures(low: str, token: int, after: str) -> Atom | None:
    if ":" in low:
        return None
    low = _SLIPS.sub(r"\1.\2", low).rstrip("-–")
    ordinal = _ORDINAL.fullmatch(low)
    if ordinal:
        return Atom("ordinal", Decimal(ordinal.group(1)), ordinal.group(1), token, after)
    part = _FRACTION.fullmatch(low)
    if part and int(part.group(2)) in _PARTS:
        return Atom("quarter", Decimal(part.group(1)) / Decimal(part.group(2)), low, token, after, "/")
    low = "0" + low if re.match(r"\.\d", low) else low
    found = _FIGURES.match(low)
    if not found:
        return None
    rest = low[found.end():]
    if rest and not re.fullmatch(r"[%°'a-z/²]+", rest):
        return None
    sign, whole, places = found.groups()
    text = whole.replace(",", "") + (places or "")
    if rest == "k":
        text, rest = str(int(Decimal(text) * 1000)), ""
    value = Decimal(text) if sign in (None, "+") else -Decimal(text)
    return Atom("figures", value, text, token, after, rest or ("+" if sign == "+" else ""))

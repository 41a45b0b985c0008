"""Atoms as recognisers and typists cut them, put together before the grammar reads them.

'1 9.5' is 19.5 and '3.4 9' is 3.49 (digits written apart); '23 - 234' is a false start; '4-1/2' is four and a half; '30-35 percent' is
a range and '102-101' two values. Words that sound like digits ('too', 'for', 'ate') count only where nothing but a digit fits, and the
number is then marked so.
"""
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from ..units import read_unit
from .number_series import parted
from .number_words import Atom

_RADIO_ONLY = frozenset("wun fower fife ait niner tousand".split())
_SOUND_ALIKE = {"too": 2, "tree": 3}
_ALIKE = {"to": 2, "too": 2, "for": 4, "fore": 4, "won": 1, "ate": 8, "tree": 3}
_NEVER_PLAIN = frozenset("won ate tree fore".split())
_TENS = frozenset("20 30 40 50 60 70 80 90".split())
_PRONOUN_BEFORE = frozenset("another any every each which no this that wait".split())


def joined(atoms: Sequence[Atom], words: Sequence[str]) -> list[Atom]:
    """The atoms with those put together, parted or set aside that the words around them decide."""
    made: list[Atom] = []
    atoms = parted(atoms, words)
    at = 0
    while at < len(atoms):
        if atoms[at].kind == "other" and atoms[at].text not in _ALIKE:
            made.append(atoms[at])
            at += 1
            continue
        alike = _digit_by_sound(atoms, at, words)
        atom, used = (alike, 1) if alike is not None else _join(atoms, at, words)
        made.append(atom)
        at += used
    return _listed_tens(made)


def _listed_tens(atoms: list[Atom]) -> list[Atom]:
    """'thirty forty fifty': three in a row are a list, not digits of one number; 'eight ten twelve' too."""
    long = ("teen", "tens")
    listed = {j for i in range(len(atoms) - 2) if all(atom.kind in long for atom in atoms[i:i + 3]) for j in range(i, i + 3)
              if not (atoms[i].after or atoms[i + 1].after)}
    for i in range(1, len(atoms) - 1):
        teens = atoms[i].kind == atoms[i + 1].kind == "teen" and atoms[i - 1].kind == "digit" and not (atoms[i].after or atoms[i - 1].after)
        if teens and (i < 2 or atoms[i - 2].kind not in ("digit", "tens", "teen", "point")):
            listed |= {i - 1, i}
    return [replace(atom, after=atom.after or "/") if index in listed else atom for index, atom in enumerate(atoms)]


def _join(atoms: Sequence[Atom], at: int, words: Sequence[str]) -> tuple[Atom, int]:
    """The atom at this place as it is to be read, and how many it stands for."""
    atom = atoms[at]
    if atom.kind == "other":
        return _radio_digit(atoms, at, words), 1
    if atom.kind == "digit" and atom.value == 1 and _pronoun(atoms, at, words):
        return replace(atom, kind="other"), 1
    if atom.kind != "figures" or atom.suffix:
        return atom, 1
    return _false_start(atoms, at) or _pair(atoms, at, words) or _pieces(atoms, at, words) or (_oxygen(atoms, at), 1)


def _digit_by_sound(atoms: Sequence[Atom], at: int, words: Sequence[str]) -> Atom | None:
    """'point ate', 'ninety for metres', 'one won zero', 'I give it a to.': a word that sounds like a digit, where only a digit fits."""
    atom = atoms[at]
    text = "to" if atom.kind == "to" else atom.text
    if text not in _ALIKE or atom.kind not in ("other", "to"):
        return None
    before, after = (atoms[i] if 0 <= i < len(atoms) else None for i in (at - 1, at + 1))
    if before is None or before.after or before.token != atom.token - 1:
        return None
    closes = bool(atom.after) or after is None
    unit = not closes and read_unit([word.strip(".,;:?!").lower() for word in words[atom.token + 1:atom.token + 4]], 0) is not None
    digits = after is not None and not atom.after and after.kind in ("digit", "oh", "point") and after.token == atom.token + 1
    joins = after is not None and after.kind == "and"
    place = before.kind == "point" and (closes or unit or joins or digits)
    fills = before.kind == "tens" and (unit or (closes and atom.after[:1] != "?"))
    fills = fills or (before.kind == "figures" and before.text in _TENS and not before.suffix and unit)
    inside = before.kind in ("digit", "point") and digits and text in _NEVER_PLAIN
    ends = before.kind == "digit" and at > 1 and atoms[at - 2].kind in ("digit", "point") and text in _NEVER_PLAIN and (closes or unit)
    given = (before.kind == "a" or before.text == "say") and (atom.after[:1] in (".", ",") or (after is None and not atom.after))
    if place or fills or inside or ends or given:
        digit = _ALIKE[text]
        return Atom("digit", Decimal(digit), str(digit), atom.token, atom.after, alike=True)
    return None


def _radio_digit(atoms: Sequence[Atom], at: int, words: Sequence[str]) -> Atom:
    atom = atoms[at]
    near = [atoms[i] for i in (at - 1, at + 1) if 0 <= i < len(atoms) and abs(atoms[i].token - atom.token) <= 1]
    if len(near) == 2 and all(one.kind in ("digit", "magnitude") or one.text in _SOUND_ALIKE for one in near) and any(
            words[one.token].strip(".,").lower() in _RADIO_ONLY for one in near):
        digit = _SOUND_ALIKE[atom.text]
        return Atom("digit", Decimal(digit), str(digit), atom.token, atom.after)
    return atom


def _pronoun(atoms: Sequence[Atom], at: int, words: Sequence[str]) -> bool:
    """'another one', 'wait one', 'stand by one', 'one of', 'one another': no number."""
    token = atoms[at].token
    before, after = (words[i].strip(".,;:?!").lower() if 0 <= i < len(words) else "" for i in (token - 1, token + 1))
    digits = at + 1 < len(atoms) and atoms[at + 1].kind in ("digit", "oh", "teen", "tens", "magnitude", "point") and not atoms[at].after
    waits = before == "by" and token > 1 and words[token - 2].lower().strip(".,") in ("stand", "standing")
    follows = after in ("of", "another") and not atoms[at].after
    numbered = at + 1 < len(atoms) and atoms[at + 1].kind == "figures" and not atoms[at].after  # 'Standby One 25': a bus and its volts
    return not digits and (before in _PRONOUN_BEFORE or waits or (before == "standby" and not numbered) or follows)


def _false_start(atoms: Sequence[Atom], at: int) -> tuple[Atom, int] | None:
    """'9-92', '23 - 234': the number begun again."""
    one = atoms[at]
    step = 2 if at + 2 < len(atoms) and atoms[at + 1].text in ("-", "--", "–", "—") and not one.after else 1
    two = atoms[at + step] if at + step < len(atoms) else None
    if two is None or two.kind != "figures" or not (step == 2 or two.glued == "-"):
        return None
    if "." not in one.text + two.text and two.text.startswith(one.text) and len(two.text) > len(one.text):
        return replace(two, token=one.token, width=two.token - one.token + 1, glued=""), step + 1
    counts = two.value == one.value + 1 or two.value == 1 == one.value - 1  # '2 -- 1, mark'
    single = step == 2 and len(one.text) == len(two.text) == 1 and not counts and two.value > 0
    if single and not two.suffix:
        text = f"{one.text}.{two.text}"
        return Atom("figures", Decimal(text), text, one.token, two.after, width=two.token - one.token + 1), 3
    return None


def _pair(atoms: Sequence[Atom], at: int, words: Sequence[str]) -> tuple[Atom, int] | None:
    """Two figures in one word: they stay apart ('102-101'), or are the ends of a range where a unit follows ('30-35 percent')."""
    one, two = atoms[at], atoms[at + 1] if at + 1 < len(atoms) else None
    if two is None or two.kind != "figures" or two.glued != "-":
        return None
    unit = bool(two.suffix) or (not two.after and read_unit(list(words), two.token + 1) is not None)
    rises = one.value < two.value
    if (len(one.text) > 1 and len(two.text) > 1) or "." in one.text + two.text or (rises and unit):
        return replace(one, after="to" if rises and unit else "/"), 1
    return None


def _begins_decimal(atoms: Sequence[Atom], at: int, index: int) -> bool:
    """'9.1 9 decimal 1': the figure is the head of another decimal number, and no place of the one before."""
    point = atoms[index + 1] if index + 1 < len(atoms) else None
    return point is not None and point.kind == "point" and not atoms[index].after and any("." in atom.text for atom in atoms[at:index])


def _pieces(atoms: Sequence[Atom], at: int, words: Sequence[str]) -> tuple[Atom, int] | None:
    """'1 9.5', '3.4 9', '2 08': one value whose digits were written apart; not 'cell 2 .70'."""
    end = at
    if at and atoms[at - 1].kind == "point" and at + 1 < len(atoms) and "." in atoms[at + 1].text:
        return None  # '4 point 6 4.9': the place of one number, and another
    while end + 1 < len(atoms) and not words[atoms[end + 1].token].startswith(".") and not _begins_decimal(atoms, at, end + 1) \
            and _next_piece(atoms[end], atoms[end + 1], atoms[at:end + 1]):
        end += 1
    if end == at:
        return None
    run = atoms[at:end + 1]
    text = "".join(atom.text for atom in run)
    if not ("." in text or (len(run) == 2 and run[1].text.startswith("0") and len(run[1].text) == 2)):
        return None
    last = run[-1]
    return Atom("figures", Decimal(text), text, run[0].token, last.after, last.suffix, width=last.token - run[0].token + 1), len(run)


def _next_piece(one: Atom, two: Atom, before: Sequence[Atom]) -> bool:
    if one.after or one.suffix or two.kind != "figures" or two.glued or two.value < 0:
        return False
    if "." in "".join(atom.text for atom in before):
        return len(two.text) == 1 and not two.suffix and len(before) == 1 and len(one.text.partition(".")[2]) == 1
    if len(one.text) != 1:
        return False
    if "." in two.text:
        return len(two.text.partition(".")[0]) == 1
    return len(two.text) == 1 or (len(before) == 1 and len(two.text) == 2 and two.text.startswith("0") and two.text != "00")


def _oxygen(atoms: Sequence[Atom], at: int) -> Atom:
    """'02' alone is the gas, misread; among figures it is a number."""
    atom = atoms[at]
    near = [atoms[i] for i in (at - 1, at + 1) if 0 <= i < len(atoms)]
    lonely = not any(one.kind in ("figures", "digit", "sign", "point") and abs(one.token - atom.token) <= 1 for one in near)
    return replace(atom, kind="other") if atom.text == "02" and lonely and not atom.glued else atom

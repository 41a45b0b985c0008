"""Figures side by side that run on evenly: '20 feet 10 5', '4 7 10 percent', '6.1 7.5 9', '2 3 3 and a half' are lists, and no number cut in pieces.

A recogniser that loses the pauses of a list writes it as a number that it cuts. What tells them apart is the figure before or behind:
values that are called one after another go on by steps of much the same size.
"""
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

from ..units import read_unit
from .number_words import Atom

_FAR, _UNEVEN, _SMALL_STEP = 4, 3, 6
"""So many tokens away a figure belongs to the list; so many times as large a step may be as its neighbour; steps from one figure to two."""
_BETWEEN = frozenset("now then and to up down at falling rising peaked holding through passing coming by point decimal".split())
_TELLS = frozenset("is was reads at".split())


def parted(atoms: Sequence[Atom], words: Sequence[str]) -> list[Atom]:
    """The atoms of these words, with lists of figures parted."""
    made = list(atoms)
    plain = [i for i, atom in enumerate(atoms) if _plain(atom)]
    for place, (i, j) in enumerate(pairwise(plain)):
        one, two = atoms[i], atoms[j]
        if j == i + 1 and len(one.text) > 1 and _labels(atoms, j):
            made[i] = replace(one, after="/")
        if j != i + 1 or one.after or two.token != one.token + one.width or _one_number(atoms, i, j):
            continue
        if place > 1 and atoms[plain[place - 2]].text == one.text:
            continue  # '12 10 and 12 15': two numbers cut alike
        before = plain[place - 1] if place and _near(atoms[plain[place - 1]], one, words) else None
        behind = plain[place + 2] if place + 2 < len(plain) and _near(two, atoms[plain[place + 2]], words) else None
        value, other = _value(atoms, i), _value(atoms, j)
        runs_on = before is not None and _long(atoms[before], one, two) and _even(_value(atoms, before), value, other) \
            or behind is not None and _long(one, two, atoms[behind]) and _even(value, other, _value(atoms, behind))
        if runs_on or _to_a_half(atoms, i):
            made[i] = replace(one, after="/")
            made[j] = replace(made[j], after=made[j].after or ("/" if place + 2 < len(plain) and plain[place + 2] == j + 1 else ""))
    return made


def _one_number(atoms: Sequence[Atom], i: int, j: int) -> bool:
    """'1 30' is a hundred and thirty whatever stands beside it; so is what a magnitude follows."""
    far = len(atoms[i].text) == 1 and len(atoms[j].text) == 2 and abs(atoms[j].value - atoms[i].value) > _SMALL_STEP
    return far or j + 1 < len(atoms) and atoms[j + 1].kind == "magnitude" and not atoms[j].after


def _near(one: Atom, two: Atom, words: Sequence[str]) -> bool:
    """Whether nothing stands between two figures but a unit and small words."""
    index, stop = one.token + one.width, two.token
    said = [word.strip(".,;:?!").lower() for word in words[index:stop + 1]]
    at = 0
    while index + at < stop and at <= _FAR:
        unit = read_unit(said, at)
        if unit is None and said[at] not in _BETWEEN:
            return False
        at = unit.end if unit is not None else at + 1
    return at <= _FAR


def _labels(atoms: Sequence[Atom], at: int) -> bool:
    """'380 2 is 365', '40, 2 is 35': the number of the next thing, with its value behind it."""
    behind = atoms[at + 1:at + 3]
    return len(atoms[at].text) == 1 and not atoms[at].after and len(behind) == 2 and behind[0].text in _TELLS and _plain(behind[1])


def _plain(atom: Atom) -> bool:
    return atom.kind == "figures" and not atom.glued and atom.value >= 0 and "/" not in atom.text


def _value(atoms: Sequence[Atom], at: int) -> Decimal:
    """A figure, with the whole number before it where a point is said between them."""
    led = at > 1 and atoms[at - 1].kind == "point" and atoms[at - 2].kind in ("figures", "digit") and atoms[at].text.isdigit()
    return Decimal(f"{atoms[at - 2].value:f}.{atoms[at].text}") if led and "." not in f"{atoms[at - 2].value:f}" else atoms[at].value


def _long(*atoms: Atom) -> bool:
    """Whether one of them has more than a single figure: single ones side by side are a string of digits."""
    return any(len(atom.text) > 1 for atom in atoms)


def _even(one: Decimal, two: Decimal, three: Decimal) -> bool:
    """Whether three values go up or down by steps of much the same size."""
    first, second = two - one, three - two
    return first * second > 0 and max(abs(first), abs(second)) <= _UNEVEN * min(abs(first), abs(second))


def _to_a_half(atoms: Sequence[Atom], at: int) -> bool:
    """'2 3 3 and a half': single figures that go up or down by no more than one, the last with a half."""
    end = at
    while end + 1 < len(atoms) and _plain(atoms[end + 1]) and not atoms[end].after and len(atoms[end + 1].text) == 1:
        end += 1
    half = [atom.kind for atom in atoms[end + 1:end + 4]] == ["and", "a", "half"] and not atoms[end].after
    steps = {atoms[i + 1].value - atoms[i].value for i in range(at, end)}
    return half and len(atoms[at].text) == 1 and bool(steps) and (steps <= {Decimal(0), Decimal(1)} or steps <= {Decimal(0), Decimal(-1)})

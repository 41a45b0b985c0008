"""Numbers that stand side by side: pieces of one digit string, and ranges."""
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

from ..records.talk import Number
from .number_words import Atom


def pieces(found: Sequence[Number], atoms: Sequence[Atom]) -> list[Number]:
    """Pieces that a recogniser writes apart and that belong together: '1, 8, 8' is 188, '80, 2' is 82. Both readings are kept.

    A count ('3, 2, 1') and a list of words ('five, nine, twelve') stay lists.
    """
    written = {atom.token: atom for atom in atoms if atom.kind == "figures"}
    made: list[Number] = []
    at = 0
    while at < len(found):
        end = at + 1
        while end < len(found) and _piece_of_string(found[end - 1], found[end], written):
            end += 1
        run = found[at:end]
        if len(run) > 1 and not _counts(run):
            text = "".join(number.text for number in run)
            made.append(replace(run[0], end=run[-1].end, value=Decimal(text), text=text, form="digits", others=(run[0].value,),
                                pieces=tuple(number.value for number in run)))
            at = end
        elif len(run) == 1 and end < len(found) and _tens_and_unit(found[at], found[end], written):
            one, two = found[at], found[end]
            total, digits = one.value + two.value, Decimal(one.text + two.text)
            made.append(replace(one, end=two.end, value=total, text=str(total), form="figures", others=(digits, one.value),
                                pieces=(one.value, two.value)))
            at = end + 1
        else:
            made.append(found[at])
            at += 1
    return made


_CLOSE, _APART = Decimal("1.3"), Decimal("1.5")


def split_figures(found: Sequence[Number], atoms: Sequence[Atom]) -> list[Number]:
    """Two figures side by side with no pause between, as a recogniser cuts one number: '2 10' 210, '18 50' 1850, '14 000', '142 6' 142.6.

    The other readings are kept, the two values apart among them. Two values that are close ('71 77') stay apart, a list that runs on; but not
    where two such pairs begin alike ('12 10 and 12 15'). In longer runs two are one where that makes another of their kind ('510 5 20').
    """
    written = {atom.token: atom for atom in atoms if atom.kind == "figures"}
    runs: list[list[Number]] = []
    for number in found:
        if runs and _touch(runs[-1][-1], number, written):
            runs[-1].append(number)
        else:
            runs.append([number])
    pairs = [run for run in runs if len(run) == 2]
    again = {run[0].text for run in pairs if sum(other[0].text == run[0].text for other in pairs) > 1}
    return [number for run in runs for number in (
        run if len(run) == 1 else _pair(run[0], run[1], run[0].text in again) if len(run) == 2 else _longer(run))]


def _pair(one: Number, two: Number, again: bool) -> list[Number]:
    joint = _as_one(one, two, again)
    if joint is not None:
        return [joint]
    if len(one.text) == len(two.text) == 2 and one.text[0] != "0":
        return [replace(number, others=(Decimal(one.text + two.text),), pieces=(one.value, two.value)) for number in (one, two)]
    return [one, two]


def _longer(run: Sequence[Number]) -> list[Number]:
    pairs = _all_pairs(run)
    if pairs:
        return pairs
    made: list[Number] = []
    at = 0
    while at < len(run):
        joint = _as_one(run[at], run[at + 1], True) if at + 1 < len(run) else None
        rest = [number.value for number in (*run[:at], *run[at + 2:])]
        if joint is not None and joint.form == "digits" and any(value and 1 / _CLOSE <= joint.value / value <= _CLOSE for value in rest):
            made.append(joint)
            at += 1
        else:
            made.append(run[at])
        at += 1
    return made


def _all_pairs(run: Sequence[Number]) -> list[Number]:
    """'1 60 1 72 1 80', '10 2 10 5': figures two by two that make values much like each other, where the figures themselves are far apart."""
    if len(run) % 2:
        return []
    joints = [_as_one(one, two, True) for one, two in zip(run[::2], run[1::2], strict=True)]
    made = [joint for joint in joints if joint is not None and joint.value]
    apart = all(one.value and not 1 / _APART <= two.value / one.value <= _APART for one, two in zip(run[::2], run[1::2], strict=True))
    alike = all(1 / _CLOSE <= two.value / one.value <= _CLOSE for one, two in pairwise(made))
    return made if len(made) == len(joints) and apart and alike else []


def _touch(one: Number, two: Number, written: dict[int, Atom]) -> bool:
    """Whether both are plain figures of one word each, the first also two single ones ('3 6 50'), with nothing between them."""
    spelt = one.form == "digits" and len(one.text) == 2 and not one.signed and len(two.text) == 2
    if one.end != two.start or one.end - one.start > (2 if one.signed or spelt else 1) or two.end != two.start + 1 or two.signed:
        return False
    first, last = written.get(one.end - 1), written.get(two.start)
    return (first is not None and last is not None and first.text.isdecimal() and last.text.isdecimal() and not first.after and not first.suffix
            and not last.glued)


def _as_one(one: Number, two: Number, again: bool) -> Number | None:
    sign, text, pointed = -1 if one.value < 0 else 1, one.text + two.text, f"{one.text}.{two.text}"
    if two.text == "000" and one.value and len(one.text) <= 3:
        return replace(one, end=two.end, value=sign * Decimal(text), text=text)
    if one.text[0] == "0":
        return None
    short = len(one.text) == 1 and len(two.text) == 2 and two.text != "00"
    pair = len(one.text) == len(two.text) == 2 and (again or not 1 / _CLOSE <= two.value / abs(one.value) <= _CLOSE)
    if short or pair:
        return replace(one, end=two.end, value=sign * Decimal(text), text=text, form="digits", others=(sign * Decimal(pointed),),
                       pieces=(one.value, two.value))
    if len(two.text) == 1 and len(one.text) in (2, 3):
        return replace(one, end=two.end, value=sign * Decimal(pointed), text=pointed, form="decimal", others=(sign * Decimal(text),),
                       pieces=(one.value, two.value))
    return None


def _single(number: Number, written: dict[int, Atom]) -> bool:
    return number.end == number.start + 1 and number.start in written and len(number.text) == 1 and not number.signed


def _piece_of_string(one: Number, two: Number, written: dict[int, Atom]) -> bool:
    return (one.end == two.start and _single(one, written) and _single(two, written) and not written[one.start].suffix
            and written[one.start].after == ",")


def _tens_and_unit(one: Number, two: Number, written: dict[int, Atom]) -> bool:
    return (one.end == two.start and one.start in written and written[one.start].after == "," and not written[one.start].suffix
            and one.text in {"20", "30", "40", "50", "60", "70", "80", "90"} and _single(two, written) and two.value > 0)


def _counts(run: Sequence[Number]) -> bool:
    steps = {two.value - one.value for one, two in pairwise(run)}
    return len(steps) == 1 and steps <= {Decimal(1), Decimal(-1)}


_SET = frozenset("gate gates valve valves throttle lever damper flap flaps heater selector switch louvre vent tap".split())
"""Things that are set: 'gate two to ten percent' numbers the gate, and no range begins there. Common practice, no source."""


def ranges(found: Sequence[Number], atoms: Sequence[Atom]) -> list[Number]:
    """'thirty to thirty five', 'between 4 and 5', '30-35'; but 'gate two to ten percent' is gate two, and ten."""
    before_of = {atom.token: atoms[index - 1].text for index, atom in enumerate(atoms) if index}
    joiner = {atom.token: atom.kind for atom in atoms if atom.kind in ("to", "and", "between") and not atom.after}
    closed = {atom.token for atom in atoms if atom.after[:1] in (",", ";", ":", ".", "?", "!")}
    spans = {atom.token for atom in atoms if atom.after == "to"}
    made: list[Number] = []
    for number in found:
        before = made[-1] if made else None
        apart = before is not None and before.end == number.start - 1 and before.end - 1 not in closed
        link = joiner.get(number.start - 1) if apart else None
        link = "to" if before is not None and before.start == number.start and number.start in spans else link
        between = before is not None and joiner.get(before.start - 1) == "between"
        named = before is not None and before.end == before.start + 1 and before_of.get(before.start) in _SET
        rises = before is not None and not named and before.value < number.value and before.value_high is None and before.form != "ordinal"
        if before is not None and rises and not number.signed and (link == "to" or (link == "and" and between)):
            made[-1] = replace(before, end=number.end, value_high=number.value, form="range")
        else:
            made.append(number)
    return made

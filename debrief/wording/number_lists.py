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

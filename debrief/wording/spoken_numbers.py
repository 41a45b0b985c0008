"""Spoken numbers: one grammar for digit strings, cardinals, decimals, fractions, signs and ranges, in words, figures and both mixed.

Values are exact and keep their places. Where two readings are fair ('seventeen eight' 17.8 or 178, 'five forty' 540 or 5.40) the
likelier stands and the others are kept. Whether a number is a value or a name (panel three) is for harvest to judge.
"""
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise

from ..records.talk import Number, NumberForm
from .number_words import Atom, atoms_of

_STARTS = frozenset(("digit", "teen", "tens", "figures", "multiple", "point", "magnitude", "quarter", "ordinal"))
_BODY = frozenset(("digit", "teen", "tens", "figures", "multiple", "magnitude", "oh"))


def read_numbers(words: Sequence[str]) -> tuple[Number, ...]:
    """Every number in words (punctuation kept), in order, never overlapping. Number.start and end count words."""
    return _read(tuple(words))


@lru_cache(maxsize=8192)
def _read(words: tuple[str, ...]) -> tuple[Number, ...]:
    atoms = atoms_of(list(words))
    found: list[Number] = []
    at = 0
    while at < len(atoms):
        number, at = _number_at(atoms, at)
        if number is not None:
            found.append(number)
    return tuple(_ranges(_pieces(found, atoms), atoms, words))


def _number_at(atoms: list[Atom], at: int) -> tuple[Number | None, int]:
    """The number that starts at this atom, and the atom behind it."""
    sign, begin = _sign_before(atoms, at)
    run_end = _run_end(atoms, begin)
    if run_end == begin:
        return None, at + 1
    value, text, form, others, end = _evaluate(atoms[begin:run_end])
    if end == 0:
        return None, at + 1
    end += begin
    value, text, form, others, end = _with_fraction(atoms, end, value, text, form, others)
    first, last = atoms[at], atoms[end - 1]
    if sign == 0 and not last.after and end < len(atoms) and atoms[end].kind == "sign" and _closes(atoms, end):
        sign, last, end = int(atoms[end].value), atoms[end], end + 1
    signed = sign != 0 or value < 0 or first.suffix == "+"
    if sign < 0:
        value, others = -value, tuple(-other for other in others)
    return Number(first.token, last.token + 1, value, text, form, None, others, signed), end


def _sign_before(atoms: list[Atom], at: int) -> tuple[int, int]:
    atom = atoms[at]
    if atom.kind == "sign" and not atom.after and at + 1 < len(atoms) and atoms[at + 1].kind in _STARTS - {"ordinal"}:
        return int(atom.value), at + 1
    return 0, at


def _closes(atoms: list[Atom], at: int) -> bool:
    """'25 negative': the sign belongs to the number before where no number follows it."""
    behind = atoms[at + 1].kind if at + 1 < len(atoms) else "other"
    return atoms[at].value < 0 and (bool(atoms[at].after) or behind not in _BODY | {"point"})


def _run_end(atoms: list[Atom], begin: int) -> int:
    """Where the unbroken run of number atoms ends."""
    if atoms[begin].kind not in _STARTS and not (atoms[begin].kind == "a" and _hundred_follows(atoms, begin)):
        return begin
    if atoms[begin].kind == "point" and not _digits_follow(atoms, begin):
        return begin
    end = begin + 1
    while end < len(atoms) and not atoms[end - 1].after and _continues(atoms, end):
        end += 1
    return end


def _hundred_follows(atoms: list[Atom], at: int) -> bool:
    return not atoms[at].after and at + 1 < len(atoms) and atoms[at + 1].kind == "magnitude"


def _digits_follow(atoms: list[Atom], at: int) -> bool:
    return not atoms[at].after and at + 1 < len(atoms) and atoms[at + 1].kind in ("digit", "figures", "oh", "teen", "tens")


def _continues(atoms: list[Atom], at: int) -> bool:
    atom, before = atoms[at], atoms[at - 1]
    if atom.kind == "point":
        return before.kind != "point" and _digits_follow(atoms, at) and "." not in before.text
    if atom.kind == "and":
        follows = at + 1 < len(atoms) and not atom.after and atoms[at + 1].kind in ("digit", "teen", "tens", "figures")
        return before.kind == "magnitude" and follows and not _own_value(atoms, at + 1)
    if atom.kind == "oh":
        return before.kind in ("digit", "figures", "point", "oh", "teen", "tens")
    if before.kind in ("ordinal", "quarter") or atom.kind in ("ordinal", "quarter"):
        return False
    if atom.kind == "figures":
        return _figures_continue(before, atom)
    return atom.kind in _BODY and not (before.kind == "figures" and before.suffix and before.suffix != "+")


def _own_value(atoms: list[Atom], at: int) -> bool:
    """'one hundred and 31.6': the figures carry a point, they are a value of their own."""
    return atoms[at].kind == "figures" and "." in atoms[at].text


def _figures_continue(before: Atom, atom: Atom) -> bool:
    if before.kind == "figures":
        both_short = len(before.text) == 1 and len(atom.text) == 1
        joined = len(before.text) <= 2 and (bool(atom.glued) and len(atom.text) <= 2 or len(atom.text) == 1 and not atom.suffix)
        return not before.suffix and "." not in before.text + atom.text and (both_short or joined)
    return before.kind in ("digit", "point", "oh", "magnitude", "and", "multiple") and not (before.kind == "digit" and len(atom.text) > 2)


Reading = tuple[Decimal, str, NumberForm, tuple[Decimal, ...], int]


def _evaluate(run: list[Atom]) -> Reading:
    """The number at the head of a run: value, digits as said, form, other readings, atoms used."""
    first = run[0]
    if first.kind == "ordinal":
        return first.value, first.text, "ordinal", (), 1
    if first.kind == "quarter" and first.suffix == "/":
        return first.value, first.text, "fraction", (), 1
    if first.kind == "quarter":
        return Decimal(0), "", "fraction", (), 0
    whole, places = _split_at_point(run)
    if places is not None:
        return _decimal(whole, places)
    return _whole(whole)


def _split_at_point(run: list[Atom]) -> tuple[list[Atom], list[Atom] | None]:
    for index, atom in enumerate(run):
        if atom.kind == "point":
            end = next((j for j in range(index + 1, len(run)) if run[j].kind in ("point", "and")), len(run))
            return run[:index], run[index + 1:end]
    return run, None


def _decimal(whole: list[Atom], places: list[Atom]) -> Reading:
    head, text = Decimal(0), "0"
    if whole:
        head, text, _, _, used = _whole(whole)
        if used < len(whole):
            return _whole(whole)
    digits, used, scale = "", 0, 1
    for atom in places:
        if atom.kind == "magnitude":
            scale = int(atom.value)
            used += 1
            break
        if atom.kind not in ("digit", "oh", "figures", "teen", "tens") or "." in atom.text:
            break
        digits = digits[:-1] + atom.text if _fills_tens(digits, atom, places[used - 1] if used else None) else digits + atom.text
        used += 1
    if not digits:
        return _whole(whole) if whole else (Decimal(0), "", "decimal", (), 0)
    value = Decimal(f"{head}.{digits}") * scale
    return value if scale == 1 else value.normalize() + 0, f"{text}.{digits}", "decimal", (), len(whole) + 1 + used


def _fills_tens(digits: str, atom: Atom, before: Atom | None) -> bool:
    return bool(digits) and before is not None and before.kind == "tens" and atom.kind == "digit" and digits.endswith("0")


def _whole(run: list[Atom]) -> Reading:
    groups, used = _groups(run)
    if not groups:
        return Decimal(0), "", "cardinal", (), 0
    if len(groups) == 1:
        value, text, kind = groups[0]
        form: NumberForm = "figures" if run[0].kind == "figures" and used == 1 else "cardinal"
        return value, text, form, (), used
    text = "".join(text for _, text, _ in groups)
    if "." in text:
        value, text, _ = groups[0]
        return value, text, "figures", (), 1
    value = Decimal(text)
    others = _spoken_otherwise(groups)
    if others and len(groups) == 2 and groups[0][2] in ("teen", "tens") and groups[1][2] == "digit":
        return others[0], str(others[0]), "decimal", (value, *others[1:]), used
    return value, text, "digits", others, used


Group = tuple[Decimal, str, str]


def _spoken_otherwise(groups: list[Group]) -> tuple[Decimal, ...]:
    """'seventeen eight' 17.8; 'five forty' 5.40; 'two sixty five' 2.65."""
    if len(groups) != 2 or not all(text.isdigit() for _, text, _ in groups):
        return ()
    head, tail = groups
    if head[2] == "digit" and tail[2] == "digit":
        return ()
    return (Decimal(f"{head[1]}.{tail[1]}"),)


def _groups(run: list[Atom]) -> tuple[list[Group], int]:
    """Chunks that are said in one breath ('one', 'twenty five', 'three hundred and two', '80') and how many atoms they use."""
    groups: list[Group] = []
    at = 0
    while at < len(run):
        atom = run[at]
        if atom.kind == "multiple":
            if at + 1 >= len(run) or run[at + 1].kind not in ("digit", "oh", "figures"):
                break
            text = run[at + 1].text * int(atom.value)
            groups.append((Decimal(text), text, "digit"))
            at += 2
        elif atom.kind == "magnitude" and groups:
            groups, at = _scaled(groups, run, at)
        elif atom.kind in ("a", "magnitude"):
            skip = 1 if atom.kind == "a" else 0
            groups.append((run[at + skip].value, run[at + skip].text, "hundred"))
            at += 1 + skip
            groups, at = _rest_of_hundred(groups, run, at)
        elif atom.kind in ("digit", "oh", "figures", "teen", "tens"):
            group, at = _small(run, at)
            groups.append(group)
        else:
            break
    return groups, at


def _small(run: list[Atom], at: int) -> tuple[Group, int]:
    atom = run[at]
    follows = run[at + 1] if at + 1 < len(run) else None
    unit = follows is not None and follows.value != 0 and len(follows.text) == 1
    if atom.kind == "tens" and follows is not None and follows.kind in ("digit", "figures") and unit:
        return (atom.value + follows.value, str(int(atom.value + follows.value)), "tens"), at + 2
    if atom.kind == "figures":
        return (atom.value, atom.text, "digit" if len(atom.text) == 1 else "figures"), at + 1
    kind = "digit" if atom.kind == "oh" else atom.kind
    return (atom.value, atom.text, kind), at + 1


def _scaled(groups: list[Group], run: list[Atom], at: int) -> tuple[list[Group], int]:
    """'one two thousand' 12 000: the digits before a magnitude are one number; what follows is added ('five hundred', 'and five')."""
    text = "".join(text for _, text, _ in groups)
    scale = run[at].value
    if "." in text and len(groups) > 1:
        return groups, len(run) + 1
    value = Decimal(text) * scale
    value = value if value != value.to_integral_value() else Decimal(int(value))
    made: list[Group] = [(value, str(value), "hundred")]
    at += 1
    if at < len(run) and run[at].kind == "magnitude":
        value = value * run[at].value
        made, at = [(value, str(value), "hundred")], at + 1
    return _rest_of_hundred(made, run, at)


def _rest_of_hundred(groups: list[Group], run: list[Atom], at: int) -> tuple[list[Group], int]:
    scale = Decimal(10) ** (len(groups[-1][1]) - len(groups[-1][1].rstrip("0")))
    if at < len(run) and run[at].kind == "and":
        at += 1
    if at >= len(run) or run[at].kind not in ("digit", "teen", "tens", "figures") or "." in run[at].text:
        return groups, at
    group, behind = _small(run, at)
    while behind < len(run) and run[behind].kind in ("digit", "oh", "teen", "tens") and scale > 100 and group[0] < 10 and group[2] == "digit":
        more, behind = _small(run, behind)
        group = (Decimal(group[1] + more[1]), group[1] + more[1], "digit")
    if behind < len(run) and run[behind].kind == "magnitude" and run[behind].value < scale:
        value = group[0] * run[behind].value
        group, behind = (value, str(value), "hundred"), behind + 1
        inner, behind = _rest_of_hundred([group], run, behind)
        group = inner[0]
    if group[0] >= scale:
        return groups, at
    total = groups[-1][0] + group[0]
    return [*groups[:-1], (total, str(total), "hundred")], behind


def _with_fraction(atoms: list[Atom], end: int, value: Decimal, text: str, form: NumberForm,
                   others: tuple[Decimal, ...]) -> Reading:
    """'seventeen and a half', '1 1/2', 'two and three quarters', 'one half', 'three quarters'."""
    if atoms[end - 1].after or end >= len(atoms) or form in ("ordinal", "decimal"):
        return value, text, form, others, end
    nxt = atoms[end]
    if nxt.kind == "quarter" and nxt.suffix == "/" and not nxt.glued:
        return value + nxt.value, str(value + nxt.value), "fraction", (), end + 1
    if nxt.kind == "quarter" and value in (1, 3) or nxt.kind == "half" and value == 1 and atoms[end - 1].kind != "a":
        part = value * (Decimal("0.25") if nxt.kind == "quarter" else Decimal("0.5"))
        return part, str(part), "fraction", (), end + 1
    if nxt.kind == "and" and not nxt.after:
        part, used = _part_at(atoms, end + 1)
        if used:
            return value + part, str(value + part), "fraction", (), end + 1 + used
    return value, text, form, others, end


def _part_at(atoms: list[Atom], at: int) -> tuple[Decimal, int]:
    kinds = [(atom.kind, atom.value) for atom in atoms[at:at + 2]]
    quarter, half = Decimal("0.25"), Decimal("0.5")
    if len(kinds) == 2 and (kinds[0][0] == "a" or kinds[0] == ("digit", 1)) and kinds[1][0] in ("half", "quarter"):
        return (half if kinds[1][0] == "half" else quarter), 2
    if len(kinds) == 2 and kinds[0][0] in ("digit", "figures") and kinds[0][1] == 3 and kinds[1][0] == "quarter":
        return 3 * quarter, 2
    if kinds and kinds[0][0] == "half":
        return half, 1
    return Decimal(0), 0


def _pieces(found: list[Number], atoms: list[Atom]) -> list[Number]:
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
            made.append(replace(run[0], end=run[-1].end, value=Decimal(text), text=text, form="digits", others=(run[0].value,)))
            at = end
        elif len(run) == 1 and end < len(found) and _tens_and_unit(found[at], found[end], written):
            total = found[at].value + found[end].value
            made.append(replace(found[at], end=found[end].end, value=total, text=str(total), form="figures", others=(found[at].value,)))
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


def _counts(run: list[Number]) -> bool:
    steps = {two.value - one.value for one, two in pairwise(run)}
    return len(steps) == 1 and steps <= {Decimal(1), Decimal(-1)}


def _ranges(found: list[Number], atoms: list[Atom], words: tuple[str, ...]) -> list[Number]:
    """'thirty to thirty five', 'between 4 and 5', '30-35'."""
    joiner = {atom.token: atom.kind for atom in atoms if atom.kind in ("to", "and", "between") and not atom.after}
    made: list[Number] = []
    for number in found:
        before = made[-1] if made else None
        apart = before is not None and before.end == number.start - 1
        link = joiner.get(number.start - 1) if apart else None
        between = before is not None and joiner.get(before.start - 1) == "between"
        rises = before is not None and before.value < number.value and before.value_high is None and before.form != "ordinal"
        if before is not None and rises and not number.signed and (link == "to" or (link == "and" and between)):
            made[-1] = replace(before, end=number.end, value_high=number.value, form="range")
        else:
            made.append(number)
    return made

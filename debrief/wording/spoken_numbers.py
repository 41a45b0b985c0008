"""Spoken numbers: one grammar for digit strings, cardinals, decimals, fractions, signs and ranges, in words, figures and both mixed.

Values are exact and keep their places. Where two readings are fair ('seventeen eight' 17.8 or 178, 'five forty' 540 or 5.40) the
likelier stands and the others are kept. Whether a number is a value or a name (panel three) is for harvest to judge.
"""
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache

from ..records.talk import Number, NumberForm
from .number_counts import counted_down
from .number_joins import joined
from .number_lists import pieces, ranges, split_figures
from .number_names import named_apart, to_the_power
from .number_signs import BODY, STARTS, below_zero, closes, either_sign, says_no, sign_before
from .number_words import TENTHS, Atom, atoms_of

MOST_DIGITS = 18
"""A recogniser that is stuck says one digit for ever: what is longer is no value, and arithmetic with it would break."""


def read_numbers(words: Sequence[str]) -> tuple[Number, ...]:
    """Every number in words (punctuation kept), in order, never overlapping. Number.start and end count words."""
    return _read(tuple(words))


@lru_cache(maxsize=8192)
def _read(words: tuple[str, ...]) -> tuple[Number, ...]:
    atoms = joined(atoms_of(list(words)), words)
    found = _found(atoms)
    names, winds = named_apart(found, words)
    counts = counted_down(words)
    if names or winds or counts:
        ends = names | {start + 2 for start in winds} | counts
        found = [replace(number, form="ordinal") if number.start in names else number
                 for number in _found([replace(atom, after=atom.after or "/") if atom.token in ends else atom for atom in atoms])]
    return tuple(_dashed(number, words) for number in ranges(pieces(split_figures(to_the_power(found, words), atoms), atoms), atoms))


def _dashed(number: Number, words: Sequence[str]) -> Number:
    """'Eight-five', two digits in one word, is 85 or 8.5: both are kept."""
    spelt = words[number.start].strip(".,;:?!").partition("-")
    fair = number.end == number.start + 1 and number.form == "digits" and len(number.text) == 2 and spelt[0].isalpha() and bool(spelt[1])
    return replace(number, others=(*number.others, number.value.scaleb(-1))) if fair and not number.others else number


def _found(atoms: list[Atom]) -> list[Number]:
    found: list[Number] = []
    at = 0
    while at < len(atoms):
        number, at = _number_at(atoms, at)
        if number is not None:
            found.append(number)
    return found


def _number_at(atoms: list[Atom], at: int) -> tuple[Number | None, int]:
    """The number that starts at this atom, and the atom behind it."""
    if atoms[at].kind in ("half", "quarter", "couple", "plural"):
        return _small_word(atoms, at)
    sign, begin = sign_before(atoms, at)
    run_end = _run_end(atoms, begin)
    if run_end == begin:
        return None, at + 1
    value, text, form, others, end = _evaluate(atoms[begin:run_end])
    if end == 1 and _ordinal_follows(atoms, begin):
        value += atoms[begin + 1].value
        return Number(atoms[begin].token, atoms[begin + 1].token + 1, value, str(value), "ordinal"), begin + 2
    if end == 0:
        return None, at + 1
    if value.adjusted() >= MOST_DIGITS or len(text) > 2 * MOST_DIGITS:
        return None, begin + end
    end += begin
    value, text, form, others, end = _with_fraction(atoms, end, value, text, form, others)
    first, last = atoms[at], atoms[end - 1]
    if sign == 0 and not last.after and end < len(atoms) and atoms[end].kind == "sign" and closes(atoms, end):
        sign, last, end = int(atoms[end].value), atoms[end], end + 1
    if sign == 0 and not last.after and below_zero(atoms, end):
        sign, last, end = -1, atoms[end + 1], end + 2
    signed = sign != 0 or value < 0 or first.suffix == "+"
    if sign < 0 and says_no(atoms, at):
        others, signed = (*others, -value), False
    elif sign < 0:
        value, others = (value, (*others, -value)) if either_sign(atoms, at) else (-value, tuple(-other for other in others))
    alike = any(atom.alike for atom in atoms[at:end])
    tens = [atom.value for atom in atoms[begin:end] if atom.kind == "tens"]
    pieces = (tens[0], abs(value) - tens[0] * 100) if form == "digits" and len(tens) == 2 and len(text) == 4 and atoms[begin].kind == "tens" \
        and atoms[begin + 1].kind == "tens" else ()
    return Number(first.token, last.token + last.width, value, text, form, None, others, signed, pieces, alike), end


def _ordinal_follows(atoms: list[Atom], at: int) -> bool:
    """'twenty first', 'one hundred third' is rare and left alone."""
    after = atoms[at + 1] if at + 1 < len(atoms) else None
    return atoms[at].kind == "tens" and after is not None and after.kind == "ordinal" and after.value < 10 and not atoms[at].after


def _small_word(atoms: list[Atom], at: int) -> tuple[Number | None, int]:
    """'half a mile', 'a quarter of', 'fours for roll', 'a couple of hundred', 'a dozen'; 'quarter to six' is no value."""
    atom = atoms[at]
    after = atoms[at + 1] if at + 1 < len(atoms) else None
    article = at > 0 and atoms[at - 1].kind == "a" and not atoms[at - 1].after
    start = atom.token - 1 if article else atom.token
    if atom.kind == "plural":
        return Number(atom.token, atom.token + 1, atom.value, atom.text, "cardinal"), at + 1
    if atom.kind == "couple":
        of = at + 1 if after is not None and after.text == "of" else at
        scale = atoms[of + 1] if of + 1 < len(atoms) else None
        if scale is not None and scale.kind == "magnitude":
            value = atom.value * scale.value
            return Number(start, scale.token + 1, value, str(value), "cardinal"), of + 2
        return (Number(start, atom.token + 1, atom.value, atom.text, "cardinal") if atom.value > 2 else None), at + 1
    if atom.suffix == "/":
        return Number(atom.token, atom.token + atom.width, atom.value, atom.text, "fraction"), at + 1
    value = Decimal("0.5") if atom.kind == "half" else Decimal("0.25")
    whole = article or (after is not None and not atom.after and (after.kind == "a" or after.text == "of"))
    return (Number(start, atom.token + 1, value, str(value), "fraction") if whole else None), at + 1


def _run_end(atoms: list[Atom], begin: int) -> int:
    """Where the unbroken run of number atoms ends."""
    early = atoms[begin].kind == "oh" and begin > 0 and atoms[begin - 1].text in ("at", "time", "since", "until") and _digits_follow(atoms, begin)
    if atoms[begin].kind not in STARTS and not early and not (atoms[begin].kind == "a" and _hundred_follows(atoms, begin)):
        return begin
    if atoms[begin].kind == "point" and not _digits_follow(atoms, begin):
        return begin
    end = begin + 1
    while end < len(atoms) and (not atoms[end - 1].after or _thousands_comma(atoms, end)) and _continues(atoms, end):
        end += 1
    return end


def _thousands_comma(atoms: list[Atom], at: int) -> bool:
    """'one thousand, two hundred and five': the comma of written numbers."""
    before = atoms[at - 1]
    hundreds = any(atom.kind == "magnitude" and atom.value < before.value for atom in atoms[at:at + 3])
    return before.kind == "magnitude" and before.value >= 1000 and before.after == "," and hundreds


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
        thousand = before.kind == "magnitude" and before.value >= 1000 and at + 1 < len(atoms) and atoms[at + 1].kind == "digit" and not atom.after
        return thousand or before.kind in ("digit", "figures", "point", "oh", "teen", "tens")
    if before.kind in ("ordinal", "quarter") or atom.kind in ("ordinal", "quarter"):
        return False
    if atom.kind == "figures":
        own = at > 1 and before.kind == "magnitude" and atoms[at - 2].kind in ("teen", "tens", "digit") or before.kind == "digit" and len(atom.text) > 1
        more = at + 1 < len(atoms) and atoms[at + 1].kind == "figures" and not atom.after
        return _figures_continue(before, atom) and not (own and more)  # 'fifteen hundred 17 50', 'bottle two 18 50'
    return atom.kind in BODY and not (before.kind == "figures" and before.suffix and before.suffix != "+")


def _own_value(atoms: list[Atom], at: int) -> bool:
    """'one hundred and 31.6': the figures carry a point, they are a value of their own."""
    return atoms[at].kind == "figures" and "." in atoms[at].text


def _figures_continue(before: Atom, atom: Atom) -> bool:
    if before.kind == "figures":
        both_short = len(before.text) == 1 and len(atom.text) == 1
        joined = len(before.text) <= 2 and bool(atom.glued) and len(atom.text) <= 2
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
            if end < len(run) and run[end].kind == "point":  # "two point eight three point five": the three begins the next value
                end = max(index + 2, end - (2 if run[end - 2].kind == "tens" else 1))
            return run[:index], run[index + 1:end]
    return run, None


def _decimal(whole: list[Atom], places: list[Atom]) -> Reading:
    head, text = Decimal(0), "0"
    if whole:
        head, text, _, _, used = _whole(whole)
        if used < len(whole) or "." in f"{head:f}":  # "14 6" read as 14.6 takes no second point
            return _whole(whole)
    digits, used, scale = "", 0, 1
    for atom in places:
        if atom.kind == "magnitude":
            scale = int(atom.value)
            used += 1
            break
        if atom.kind not in ("digit", "oh", "figures", "teen", "tens") or not atom.text.isdecimal():
            break
        digits = digits[:-1] + atom.text if _fills_tens(digits, atom, places[used - 1] if used else None) else digits + atom.text
        used += 1
    if not digits:
        return _whole(whole) if whole else (Decimal(0), "", "decimal", (), 0)
    value = Decimal(f"{head:f}.{digits}") * scale
    return value if scale == 1 else value.normalize() + 0, f"{text}.{digits}", "decimal", (), len(whole) + 1 + used


def _fills_tens(digits: str, atom: Atom, before: Atom | None) -> bool:
    return bool(digits) and before is not None and before.kind == "tens" and atom.kind == "digit" and digits.endswith("0")


def _whole(run: list[Atom]) -> Reading:
    groups, used = _groups(run)
    if not groups:
        return Decimal(0), "", "cardinal", (), 0
    if len(groups) == 1:
        value, text, _ = groups[0]
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
            if at + 1 >= len(run) or run[at + 1].kind not in ("digit", "oh", "figures") or not run[at + 1].text.isdecimal():
                break
            text = run[at + 1].text * int(atom.value)
            groups.append((Decimal(text), text, "digit"))
            at += 2
        elif atom.kind == "magnitude" and groups:
            groups, at = _scaled(groups, run, at)
            if at < len(run) and run[at].kind in ("digit", "oh", "teen", "tens", "figures"):
                break  # 'eight hundred nine hundred': what follows is a value of its own
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
    if atom.kind == "figures" and follows is not None and follows.alike and unit:
        return (atom.value + follows.value, str(atom.value + follows.value), "tens"), at + 2
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
    early = at + 1 < len(run) and run[at].kind == "oh" and scale > 100 and run[at + 1].kind == "digit"
    if at >= len(run) or not (run[at].kind in ("digit", "teen", "tens", "figures") or early) or "." in run[at].text:
        return groups, at
    group, behind = _small(run, at)
    digits = scale > 100 and group[0] < 10 and group[2] == "digit"
    while digits and group[0] < 10 and behind < len(run) and run[behind].kind in ("digit", "oh", "teen", "tens"):
        more, behind = _small(run, behind)
        group = (Decimal(group[1] + more[1]), group[1] + more[1], "digit")
        if group[1].startswith("0") and len(group[1]) > 3:
            return groups, at  # 'ten thousand zero seven twenty three': a time begins behind the height
    while behind < len(run) and run[behind].kind == "magnitude" and group[0] * run[behind].value < scale:
        value = group[0] * run[behind].value
        group, behind = (value, str(value), "hundred"), behind + 1
        inner, behind = _rest_of_hundred([group], run, behind)
        group = inner[0]
    if group[0] >= scale or (behind < len(run) and run[behind].kind == "magnitude" and run[behind].value <= scale):
        return groups, at  # 'eight hundred nine hundred': what follows is a value of its own
    total = groups[-1][0] + group[0]
    return [*groups[:-1], (total, str(total), "hundred")], behind


def _with_fraction(atoms: list[Atom], end: int, value: Decimal, text: str, form: NumberForm,
                   others: tuple[Decimal, ...]) -> Reading:
    """'seventeen and a half', '1 1/2', 'two and three quarters', 'one half', 'three quarters'."""
    if atoms[end - 1].after or end >= len(atoms) or form in ("ordinal", "decimal"):
        return value, text, form, others, end
    nxt = atoms[end]
    if (nxt.text in TENTHS or (nxt.kind == "ordinal" and value == 1 and nxt.value == 10)) and value == int(value):
        return (part := value.scaleb(-TENTHS.get(nxt.text, 1))), str(part), "fraction", (), end + 1
    if nxt.kind == "quarter" and nxt.suffix == "/":
        return value + nxt.value, str(value + nxt.value), "fraction", (), end + 1
    if nxt.kind == "quarter" and value in (1, 3) or nxt.kind == "half" and value == 1 and atoms[end - 1].kind != "a":
        part = value * (Decimal("0.25") if nxt.kind == "quarter" else Decimal("0.5"))
        return part, str(part), "fraction", (), end + 1
    if value % 1 == 0 and form == "digits" and value % 10 == 3 and nxt.kind == "quarter":
        whole = (value - 3) / 10
        return whole + Decimal("0.75"), str(whole + Decimal("0.75")), "fraction", (), end + 1
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

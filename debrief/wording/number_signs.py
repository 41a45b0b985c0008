"""The sign of a spoken number: before it, behind it, or no sign at all ('negative, twelve')."""
from .number_words import Atom

STARTS = frozenset(("digit", "teen", "tens", "figures", "multiple", "point", "magnitude", "quarter", "ordinal"))
BODY = frozenset(("digit", "teen", "tens", "figures", "multiple", "magnitude", "oh"))


def says_no(atoms: list[Atom], at: int) -> bool:
    """'Negative 12 and 13' at the head of a sentence: no, then a number; the signed reading is kept beside it."""
    opens = at == 0 or atoms[at - 1].after[-1:] in tuple(".?!,")
    return atoms[at].kind == "sign" and atoms[at].suffix == "negative" and opens


def below_zero(atoms: list[Atom], at: int) -> bool:
    return at + 1 < len(atoms) and atoms[at].text == "below" and not atoms[at].after and atoms[at + 1].text == "0"


def either_sign(atoms: list[Atom], at: int) -> bool:
    """'plus or minus two'."""
    return at >= 2 and atoms[at - 1].text == "or" and atoms[at - 2].kind == "sign"


def sign_before(atoms: list[Atom], at: int) -> tuple[int, int]:
    atom = atoms[at]
    if atom.kind == "sign" and not atom.after and at + 1 < len(atoms) and atoms[at + 1].kind in STARTS - {"ordinal"}:
        return int(atom.value), at + 1
    return 0, at


def closes(atoms: list[Atom], at: int) -> bool:
    """'25 negative': the sign belongs to the number before where no number follows it."""
    behind = atoms[at + 1].kind if at + 1 < len(atoms) else "other"
    return atoms[at].value < 0 and (bool(atoms[at].after) or behind not in BODY | {"point"})

"""Forms that are read up as bare numbers in a fixed order: the order tells what each number is.

A form is data: a name, words by which it is known, and its fields in order. A field: name | unit | sort, where sort is 'number' (the
default), 'signed' (a sign is always said), 'time' (a clock time) or 'words' (no number: star names). Order and units of the maneuver
PAD: flight plans and technical crew debriefings of lunar flights, 1968 to 1972 (memory). Velocities and angles are read up as the
digits of the form, tenths and hundredths without their point; the digits are kept as said.
"""
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ..records.talk import Number

Sort = Literal["number", "signed", "time", "words"]


@dataclass(frozen=True, slots=True)
class FormField:
    name: str
    unit: str | None
    sort: Sort = "number"


@dataclass(frozen=True, slots=True)
class Form:
    """known_by: any of these words in the turn; fields in the order of reading."""

    name: str
    known_by: frozenset[str]
    fields: tuple[FormField, ...]


def _form(name: str, known_by: str, fields: str) -> Form:
    made = []
    for line in fields.strip().splitlines():
        cells = [cell.strip() for cell in line.split("|")]
        made.append(FormField(cells[0], cells[1] or None, cells[2] if len(cells) > 2 else "number"))  # type: ignore[arg-type]
    return Form(name, frozenset(known_by.split()), tuple(made))


MANEUVER_PAD = _form("maneuver PAD", "sps sps/g&n g&n rcs dps loi tei tli mcc lopc", """
    vehicle weight | lb
    pitch trim | deg | signed
    yaw trim | deg | signed
    ignition time | | time
    delta-V X | ft/s | signed
    delta-V Y | ft/s | signed
    delta-V Z | ft/s | signed
    roll | deg
    pitch | deg
    yaw | deg
    apogee height | nmi
    perigee height | nmi | signed
    delta-V total | ft/s
    burn time |
    delta-V counter | ft/s
    sextant star |
    sextant shaft | deg
    sextant trunnion | deg
    boresight star pitch | deg
    boresight star X position | deg
    latitude | deg | signed
    longitude | deg | signed
    range to go | nmi
    inertial velocity | ft/s
    time of 0.05 g | | time
    GDC align roll | deg
    GDC align pitch | deg
    GDC align yaw | deg
    ullage quads |
""")
FORMS = (MANEUVER_PAD,)
Item = Number | tuple[int, int] | None
"""What is read up, in order: a number, a time over tokens [start, end), None for a field that is said not to apply."""


def fields_of(form: Form, items: Sequence[Item]) -> list[FormField | None]:
    """For each item the field it fills; a field too many or too few is found by signs and times, else the rest has no name.

    Returns as many entries as items. A signed number never fills an unsigned field, a time only a time field.
    """
    found: list[FormField | None] = []
    at = 0
    for item in items:
        if item is not None and at < len(form.fields) and not _fills(item, form.fields[at]):
            near = [i for i in (at + 1, at - 1) if 0 <= i < len(form.fields) and _fills(item, form.fields[i])]
            if not near:
                return found + [None] * (len(items) - len(found))
            at = near[0]
        found.append(form.fields[at] if at < len(form.fields) and item is not None else None)
        at += 1
    return found


def _fills(item: Item, field: FormField) -> bool:
    if isinstance(item, tuple):
        return field.sort == "time"
    if item is None:
        return True
    return field.sort == "signed" if item.signed else field.sort == "number" or (field.sort == "signed" and item.value == 0)

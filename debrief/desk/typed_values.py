"""Fields as people type them, read strictly: a number is never guessed from text, and what cannot be read is refused in words."""
import re
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation

from ..errors import InputError
from ..records.kinds import KINDS
from ..records.rows import FieldValue, Row
from ..timebase import clock_seconds

YES, NO = ("yes", "true"), ("no", "false")
_GIVEN = re.compile(r"([\w.]+)\s*=(.*)", re.S)


def typed_fields(row: Row, given: Iterable[str]) -> dict[str, FieldValue]:
    """'name=value' pairs as fields of the row's kind; 'condition.hand=left' sets one entry of a map. Raises InputError."""
    fields: dict[str, FieldValue] = {}
    for text in given:
        found = _GIVEN.fullmatch(text.strip())
        if not found:
            raise InputError(f"{text!r} does not say which field becomes what", todo="write it as field=value, such as value=4.3")
        name, dot, entry = found[1].partition(".")
        value = found[2].strip()
        if dot:
            fields[name] = _with_entry(fields.get(name, row.get(name)), (row.kind, name, entry), value)
        else:
            fields[name] = typed(row.kind, name, value)
    return fields


def typed(kind: str, name: str, text: str) -> FieldValue:
    """One field's value; an empty text empties the field."""
    column = next((item for item in KINDS[kind].columns if item.name == name), None)
    if column is None:
        raise InputError(f"a row of {kind} has no field {name!r}", todo=f"its fields: {', '.join(c.name for c in KINDS[kind].columns)}")
    if not text:
        return None
    if column.type == "flag":
        return _flag(name, text)
    if column.type in ("number", "seconds"):
        number = _number(name, text)
        return float(number) if column.type == "seconds" else number
    if column.type == "map":
        raise InputError(f"{name} has entries of its own", todo=f"write one as {name}.hand=left")
    return text


def typed_time(option: str, text: str | None) -> float | None:
    """A session time as seconds; None where none is given. Raises InputError for text that is no time."""
    seconds = None if text is None else clock_seconds(text)
    if text is not None and seconds is None:
        raise InputError(f"{option} {text!r} is no session time", todo="write it as h:mm:ss, such as 0:12:30")
    return seconds


def _flag(name: str, text: str) -> bool:
    if text.casefold() not in (*YES, *NO):
        raise InputError(f"{name} is yes or no, not {text!r}", todo=f"write {name}=yes or {name}=no")
    return text.casefold() in YES


def _number(name: str, text: str) -> Decimal:
    """The number with the places that were typed; h:mm:ss counts where the field is a time."""
    in_seconds = name.endswith("_s") or name.startswith("seconds")
    clock = clock_seconds(text) if in_seconds else None
    try:
        number = Decimal(text) if clock is None else Decimal(str(clock))
    except InvalidOperation:
        number = Decimal("nan")
    if not number.is_finite():
        how = "seconds or h:mm:ss" if in_seconds else "digits with a point, such as 4.30"
        raise InputError(f"{name} is a number, not {text!r}", todo=f"write it as {how}")
    return number


def _with_entry(before: FieldValue, place: tuple[str, str, str], value: str) -> FieldValue:
    kind, name, entry = place
    column = next((item for item in KINDS[kind].columns if item.name == name), None)
    if column is None or column.type != "map" or not entry:
        raise InputError(f"a row of {kind} has no field {name}.{entry}", todo="only fields with entries, such as condition, take a point")
    kept = dict(before) if isinstance(before, dict) else {}
    return {**{key: item for key, item in kept.items() if key != entry}, **({entry: value} if value else {})}

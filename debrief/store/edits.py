"""What people change: every deed keeps the whole row the person saw, the machine's row stays, and every deed can be undone.

A deed is refused when the row is not what the person saw any more (ChangedMeanwhile), so that two people, two windows or two programs
on one store never lose an edit. A changed field has the origin 'person' and is certain as heard by a person.
"""
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from ..errors import ChangedMeanwhile, InputError
from ..records.kinds import KINDS
from ..records.rows import Field, FieldValue, Part, Row
from .codec import row_in, row_out
from .database import Database
from .following import followers, follows, heard, looked_at
from .rowsets import machine_row, mark_of, new_number, put_current


@dataclass(frozen=True, slots=True)
class Standing:
    """A row as it stands: state standing or rejected; mark: how an edit stands to the last pass; revision: to say what one saw."""

    row: Row
    state: str
    mark: str
    revision: int
    edited: bool


@dataclass(frozen=True, slots=True)
class Deed:
    """One thing a person did to a row."""

    edit: int
    deed: int
    number: int
    action: str
    who: str
    at_utc: str
    note: str
    undone: bool


def standing(db: Database, number: int) -> Standing:
    """The row of a number as it stands now. InputError for a number that no row has."""
    found = db.one("SELECT * FROM current WHERE number = ?", (number,))
    if found is None:
        raise InputError(f"no row has the number {number}", todo="row numbers stand at the left of every table")
    return _standing(found)


def all_standing(db: Database, *, rejected: bool = False) -> list[Standing]:
    """Every row as it stands, in the order of time; rejected ones only when asked for."""
    where = "" if rejected else "WHERE state = 'standing'"
    return [_standing(item) for item in db.all(f"SELECT * FROM current {where} ORDER BY start_s, line_index, number")]


def _standing(item: Any) -> Standing:
    return Standing(row_in(item["row"]), item["state"], item["mark"], item["revision"], item["edit"] is not None)


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _checked(db: Database, number: int, revision: int) -> Standing:
    seen = standing(db, number)
    if seen.revision != revision:
        raise ChangedMeanwhile(f"row {number} was changed since you looked", str(db.path), "look at it as it is now, then decide")
    return seen


def _note(db: Database, deed: int | None, number: int, action: str, given: tuple[str, Row | None, Row | None, str]) -> int:
    who, saw, became, note = given
    if not who.strip():
        raise InputError("nobody is named for this edit", todo="give your name, so that others know who decided")
    accepted = db.one("SELECT pass FROM passes WHERE accepted = 1")
    edit = db.run("INSERT INTO edits (deed, number, pass, action, who, at_utc, saw, became, note) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                  (deed or 0, number, accepted["pass"] if accepted else None, action, who.strip(), _now(),
                   row_out(saw) if saw else None, row_out(became) if became else None, note))
    if deed is None:
        db.run("UPDATE edits SET deed = ? WHERE edit = ?", (edit, edit))
    db.run("INSERT OR REPLACE INTO meta VALUES ('last edit', ?)", (str(edit),))
    return edit


def change(db: Database, number: int, revision: int, values: Mapping[str, FieldValue], who: str, note: str = "") -> Row:
    """Sets fields of a row; the others stay. Every field is then heard by a person; rows that stand on it follow it, in the same deed."""
    with db.writing():
        seen = _checked(db, number, revision)
        known = {column.name for column in KINDS[seen.row.kind].columns}
        unknown = sorted(values.keys() - known)
        if unknown:
            raise InputError(f"a row of {seen.row.kind} has no field {unknown[0]!r}", todo=f"its fields: {', '.join(sorted(known))}")
        fields = {name: replace(item, certainty="heard by a person") for name, item in seen.row.fields.items()}
        fields |= {name: Field(value, "person", "heard by a person") for name, value in values.items()}
        became = replace(seen.row, fields=fields, doubt=(), look=looked_at(seen.row))
        edit = _note(db, None, number, "change", (who, seen.row, became, note))
        _put(db, became, edit)
        _follow(db, edit, who, (seen.row, became))
    return became


def add_with(db: Database, number: int, rows: Iterable[Row]) -> None:
    """Rows that a changed row gives rise to, in the deed that changed it; those that tell a limit that is told already are left out."""
    with db.writing():
        last = db.one("SELECT deed, who FROM edits WHERE number = ? ORDER BY edit DESC LIMIT 1", (number,))
        if last is None:
            raise InputError(f"nobody has changed row {number}", todo="change it first")
        for row in rows:
            if not _stands_already(db, row):
                made = replace(row, number=new_number(db, row.kind, None))
                _put(db, made, _note(db, last["deed"], made.number or 0, "add", (last["who"], None, made, f"follows row {number}")))


def _follow(db: Database, deed: int, who: str, decided: tuple[Row, Row | None]) -> None:
    """Rows that stand on one that was decided (as it was, as it is; None: rejected) become what it makes of them."""
    before, after = decided
    for was, now in followers(db, before, after):
        action = "reject" if now is None else "accept" if all(now.get(name) == was.get(name) for name in now.fields) and now.look == was.look else "change"
        own = _note(db, deed, was.number or 0, action, (who, was, now, follows(before)))
        _put(db, now or was, own, "standing" if now else "rejected")


def _stands_already(db: Database, new: Row) -> bool:
    """Whether a row of the kind stands on the same first piece of evidence and tells the same limit."""
    def key(row: Row) -> tuple[Any, ...]:
        return row.place.source, row.place.span, row.place.line_index, row.get("limit"), row.get("bound")
    there = db.all('SELECT "row" FROM current WHERE kind = ? AND state = ? AND start_s IS ?', (new.kind, "standing", new.place.start_s))
    return any(key(row_in(item["row"])) == key(new) for item in there)


def rename(db: Database, numbers: Sequence[tuple[int, int]], name: tuple[str, FieldValue], who: str, note: str = "") -> list[Row]:
    """Gives one field of several rows (number, revision) a name that a person knows, as one deed. Nobody has heard the rows by that: how sure
    they are stays as it was."""
    field, value = name
    with db.writing():
        made: list[Row] = []
        deed: int | None = None
        for number, revision in numbers:
            seen = _checked(db, number, revision)
            if field not in seen.row.fields:
                raise InputError(f"row {number} has no {field.replace('_', ' ')}", todo="name only rows that have one")
            became = seen.row.with_fields(**{field: replace(seen.row.fields[field], value=value, origin="person", others=())})
            edit = _note(db, deed, number, "change", (who, seen.row, became, note))
            deed = deed or edit
            _put(db, became, edit)
            _follow(db, deed, who, (seen.row, became))
            made.append(became)
    return made


def touched_with(db: Database, number: int) -> list[int]:
    """Numbers of the rows that the last deed on a row touched, that row's own first."""
    found = db.all("SELECT number FROM edits WHERE deed = (SELECT deed FROM edits WHERE number = ? ORDER BY edit DESC LIMIT 1) ORDER BY edit", (number,))
    return list(dict.fromkeys([number, *(item["number"] for item in found)]))


def accept(db: Database, number: int, revision: int, who: str, note: str = "") -> Row:
    """A person heard the sound and the row is right."""
    return accept_together(db, [(number, revision)], who, note)[0]


def accept_together(db: Database, numbers: Sequence[tuple[int, int]], who: str, note: str = "") -> list[Row]:
    """Rows (number, revision) of one stretch of sound, all of them right: one deed, written whole or, when one row is not as seen, not at all."""
    with db.writing():
        made: list[Row] = []
        deed: int | None = None
        for number, revision in numbers:
            seen = _checked(db, number, revision)
            became = heard(seen.row)
            edit = _note(db, deed, number, "accept", (who, seen.row, became, note))
            deed = deed or edit
            _put(db, became, edit)
            made.append(became)
        for row in made:
            _follow(db, deed or 0, who, (row, row))
    return made


def reject(db: Database, number: int, revision: int, who: str, note: str = "") -> None:
    """A person heard the sound and there is no such row; it stays in the store, out of the tables."""
    with db.writing():
        seen = _checked(db, number, revision)
        edit = _note(db, None, number, "reject", (who, seen.row, None, note))
        _put(db, seen.row, edit, "rejected")
        _follow(db, edit, who, (seen.row, None))


def add(db: Database, row: Row, who: str, note: str = "") -> Row:
    """A row by hand, over sound that a person marked."""
    with db.writing():
        fields = {name: replace(item, origin="person", certainty="heard by a person") for name, item in row.fields.items()}
        made = replace(row, fields=fields, number=new_number(db, row.kind, None))
        _put(db, made, _note(db, None, made.number or 0, "add", (who, None, made, note)))
    return made


def split(db: Database, number: int, revision: int, parts: Sequence[Mapping[str, FieldValue]], who: str) -> list[Row]:
    """One row into several; the first keeps the number."""
    if len(parts) < 2:
        raise InputError("a split makes two rows or more", todo="give the fields of each new row")
    with db.writing():
        seen = _checked(db, number, revision)
        made: list[Row] = []
        deed: int | None = None
        for position, values in enumerate(parts):
            fields = {**seen.row.fields, **{name: Field(value, "person") for name, value in values.items()}}
            fields = {name: replace(item, certainty="heard by a person") for name, item in fields.items()}
            own = number if position == 0 else new_number(db, seen.row.kind, None)
            became = replace(seen.row, fields=fields, doubt=(), number=own)
            edit = _note(db, deed, own, "split", (who, seen.row if position == 0 else None, became, ""))
            deed = deed or edit
            _put(db, became, edit)
            made.append(became)
    return made


def merge(db: Database, numbers: Sequence[tuple[int, int]], who: str) -> Row:
    """Rows (number, revision) into the first, which keeps its fields and gains their evidence; the others are set aside."""
    if len(numbers) < 2:
        raise InputError("a merge takes two rows or more", todo="choose the rows that are one")
    with db.writing():
        seen = [_checked(db, number, revision) for number, revision in numbers]
        if len({item.row.kind for item in seen}) > 1:
            raise InputError("only rows of one kind can be merged", todo="change the kind of none; reject the one too many")
        first = seen[0].row
        evidence: list[Part] = list(first.evidence)
        for item in seen[1:]:
            evidence += [replace(part, role="same as") for part in item.row.evidence]
        fields = {name: replace(item, certainty="heard by a person") for name, item in first.fields.items()}
        became = replace(first, fields=fields, evidence=tuple(evidence), doubt=())
        edit = _note(db, None, numbers[0][0], "merge", (who, first, became, ""))
        _put(db, became, edit)
        for item in seen[1:]:
            _put(db, item.row, _note(db, edit, item.row.number or 0, "merge", (who, item.row, None, "")), "rejected")
            _follow(db, edit, who, (item.row, None))
    return became


def _put(db: Database, row: Row, edit: int, state: str = "standing") -> None:
    put_current(db, [row], edit=edit, state=state)


def undo(db: Database, who: str, deed: int | None = None) -> list[int]:
    """Takes back a deed (the person's last when none is named); returns the numbers it touched. Nothing is deleted."""
    with db.writing():
        found = db.one("SELECT deed FROM edits WHERE who = ? AND undone_utc IS NULL ORDER BY edit DESC LIMIT 1", (who,)) if deed is None \
            else db.one("SELECT deed FROM edits WHERE deed = ? AND undone_utc IS NULL LIMIT 1", (deed,))
        if found is None:
            raise InputError("there is nothing to undo", todo="only deeds that still stand can be taken back")
        edits = db.all("SELECT * FROM edits WHERE deed = ?", (found["deed"],))
        db.run("UPDATE edits SET undone_utc = ?, undone_by = ? WHERE deed = ?", (_now(), who, found["deed"]))
        for item in edits:
            _restore(db, item["number"])
        last = db.one("SELECT max(edit) AS edit FROM edits")
        db.run("INSERT OR REPLACE INTO meta VALUES ('last edit', ?)", (f"{last['edit'] if last else 0} undone {found['deed']}",))
    return [item["number"] for item in edits]


def _restore(db: Database, number: int) -> None:
    """The row as the edits that still stand leave it, else as the machine found it, else out of the view; its number is never reused."""
    accepted = db.one("SELECT pass FROM passes WHERE accepted = 1")
    found = machine_row(db, accepted["pass"], number) if accepted else None
    left = db.one("SELECT * FROM edits WHERE number = ? AND undone_utc IS NULL ORDER BY edit DESC LIMIT 1", (number,))
    if left is not None:
        put_current(db, [row_in(left["became"] or left["saw"])], edit=left["edit"], mark=mark_of(db, left["edit"], found),
                    state="standing" if left["became"] else "rejected")
    elif found is not None:
        put_current(db, [found])
    else:
        db.run("DELETE FROM current WHERE number = ?", (number,))
        db.run("DELETE FROM row_words WHERE rowid = ?", (number,))


def deeds(db: Database, number: int | None = None) -> list[Deed]:
    """Who did what, the latest first."""
    where, values = ("WHERE number = ?", (number,)) if number is not None else ("", ())
    return [Deed(item["edit"], item["deed"], item["number"], item["action"], item["who"], item["at_utc"], item["note"],
                 item["undone_utc"] is not None) for item in db.all(f"SELECT * FROM edits {where} ORDER BY edit DESC", values)]

"""Rows of a pass: written once, matched with the rows of before, and laid under what people decided.

`machine_rows` keeps what each pass found; `current` is what stands now: people's words over the machine's row, with a mark where the
machine's row is not what the person saw. Numbers are given once and never again.
"""
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from ..records.rows import Field, Part, Row
from .codec import as_we_write, dumps, field_in, finite, part_in, part_out, row_in, row_out, source_columns, source_of, span_of, value_out
from .database import Database
from .matching import match, says
from .search import index_rows


def save_rows(db: Database, pass_number: int, rows: Sequence[Row]) -> list[Row]:
    """Stores the rows of a pass; returns them with their numbers, in the order given. Saved again, they are replaced.

    Rows are matched with those of the last accepted pass (store/matching.py) and take over their numbers; each edit is carried, or
    marked 'changed since you looked', or stands alone. The pass becomes the accepted one.
    """
    with db.writing():
        before = standing_machine_rows(db)
        pairs = match(before, rows)
        db.run("DELETE FROM machine_rows WHERE pass = ?", (pass_number,))
        numbered = [replace(row, number=pairs.get(i) or new_number(db, row.kind, pass_number)) for i, row in enumerate(rows)]
        _write(db, pass_number, numbered)
        db.run("UPDATE passes SET accepted = (pass = ?)", (pass_number,))
        _lay_current(db, numbered)
    return numbered


def new_number(db: Database, kind: str, pass_number: int | None) -> int:
    return db.run("INSERT INTO row_numbers (kind, born_in) VALUES (?, ?)", (kind, pass_number))


def standing_machine_rows(db: Database) -> dict[int, Row]:
    """Rows of the accepted pass by number, and rows that people added, which have none.

    Where that pass has not heard everything yet, the rows of the one that ended last before it too: what it will find again keeps its number.
    """
    accepted = db.one("SELECT pass, finished_utc FROM passes WHERE accepted = 1")
    found = {} if accepted is None else {row.number: row for row in machine_rows(db, accepted["pass"]) if row.number is not None}
    for item in db.all("SELECT number, \"row\" FROM current"):
        found.setdefault(item["number"], row_in(item["row"]))
    if accepted is not None and accepted["finished_utc"] is None:
        ended = db.one("SELECT max(pass) AS pass FROM passes WHERE finished_utc IS NOT NULL")
        for row in machine_rows(db, ended["pass"]) if ended and ended["pass"] is not None else ():
            found.setdefault(row.number or 0, row)
    return found


def _write(db: Database, pass_number: int, rows: Sequence[Row]) -> None:
    db.insert("machine_rows", [{
        "pass": pass_number, "number": row.number, "position": position, "kind": row.kind, "loop": row.loop, "station": row.station,
        "turn": row.turn, "certainty": row.certainty, "look": dumps(row.look), "doubt": dumps(row.doubt),
        "witnesses": dumps(dict(row.witnesses))} for position, row in enumerate(rows)])
    db.insert("fields", [{
        "pass": pass_number, "number": row.number, "position": position, "name": name, "value": dumps(value_out(item.value)),
        "origin": item.origin, "certainty": item.certainty, "part": item.part, "why": dumps(item.why),
        "others": dumps([value_out(other) for other in item.others])}
        for row in rows for position, (name, item) in enumerate(row.fields.items())])
    db.insert("parts", [{
        "pass": pass_number, "number": row.number, "part": position, "role": item.role, "text": item.text, "segment": item.segment,
        "first_word": item.first_word, "last_word": item.last_word, **source_columns(item.source, item.span),
        "line_index": item.line_index, "start_s": item.start_s} for row in rows for position, item in enumerate(row.evidence)])


def machine_row(db: Database, pass_number: int, number: int) -> Row | None:
    """What a pass found under a number."""
    return next(iter(_found(db, "pass = ? AND number = ?", (pass_number, number))), None)


def machine_rows(db: Database, pass_number: int) -> list[Row]:
    """What a pass found, in its order."""
    return _found(db, "pass = ?", (pass_number,))


@as_we_write
def _found(db: Database, where: str, values: tuple[int, ...]) -> list[Row]:
    fields: dict[int, dict[str, Field]] = {}
    for item in db.all(f"SELECT * FROM fields WHERE {where} ORDER BY number, position", values):
        fields.setdefault(item["number"], {})[item["name"]] = field_in({
            "value": json.loads(item["value"]), "origin": item["origin"], "certainty": item["certainty"], "part": item["part"],
            "why": json.loads(item["why"]), "others": json.loads(item["others"])})
    parts: dict[int, list[Part]] = {}
    for item in db.all(f"SELECT * FROM parts WHERE {where} ORDER BY number, part", values):
        parts.setdefault(item["number"], []).append(_part(item))
    return [_row(item, fields.get(item["number"], {}), parts[item["number"]])
            for item in db.all(f"SELECT * FROM machine_rows WHERE {where} ORDER BY position", values)]


def _part(item: Any) -> Part:
    return Part(item["role"], item["text"], item["segment"], item["first_word"], item["last_word"], source_of(item), span_of(item),
                item["line_index"], finite(item["start_s"]))


def _row(item: Any, fields: Mapping[str, Field], parts: Sequence[Part]) -> Row:
    return Row(item["kind"], fields, tuple(parts), item["loop"], item["station"], item["turn"], tuple(json.loads(item["look"])),
               tuple(json.loads(item["doubt"])), json.loads(item["witnesses"]), item["number"])


def _lay_current(db: Database, rows: Sequence[Row]) -> None:
    """The view of now: a row that nobody touched is the machine's; an edit stays, whatever the new pass found."""
    touched = {item["number"]: item for item in db.all("SELECT number, edit, mark FROM current WHERE edit IS NOT NULL")}
    known = {item["number"]: item["row"] for item in db.all("SELECT number, \"row\" FROM current WHERE edit IS NULL")}
    new = {row.number: row for row in rows}
    for number, item in touched.items():
        mark = mark_of(db, item["edit"], new.get(number))
        if mark != item["mark"]:
            db.run("UPDATE current SET mark = ?, revision = ? WHERE number = ?", (mark, next_revision(db), number))
    gone = [(number,) for number in known if number not in new]
    for table, key in (("current", "number"), ("row_words", "rowid")):
        db.run_many(f"DELETE FROM {table} WHERE {key} = ?", gone)
    put_current(db, [row for row in rows if row.number not in touched and known.get(row.number or 0) != row_out(row)])


def mark_of(db: Database, edit: int, now: Row | None) -> str:
    """How an edited row stands to the machine's row of now, against the machine's row at the time of the edit."""
    found = db.one("SELECT number, pass, saw, became FROM edits WHERE edit = ?", (edit,))
    accepted = db.one("SELECT pass FROM passes WHERE accepted = 1")
    if found is None:
        return ""
    then = None if found["pass"] is None else machine_row(db, found["pass"], found["number"])
    if now is None:
        return "" if then is None and found["saw"] is None else "stands alone"
    if accepted is not None and found["pass"] == accepted["pass"]:
        return ""
    basis = then or row_in(found["saw"] or found["became"])
    return "carried" if says(basis) == says(now) else "changed since you looked"


def next_revision(db: Database) -> int:
    """A number that no state of any row had before, so that a stale page is always found out."""
    found = db.one("SELECT value FROM meta WHERE key = 'revision'")
    revision = int(found["value"]) + 1 if found else 1
    db.run("INSERT OR REPLACE INTO meta VALUES ('revision', ?)", (str(revision),))
    return revision


def put_current(db: Database, rows: Sequence[Row], *, edit: int | None = None, state: str = "standing", mark: str = "") -> None:
    """Writes rows as what stands now."""
    revision = next_revision(db)
    db.insert("current", [current_columns(row) | {"state": state, "mark": mark, "edit": edit, "revision": revision} for row in rows],
              replacing=True)
    index_rows(db, rows)


def current_columns(row: Row) -> dict[str, Any]:
    value = row.get("value")
    number = float(value) if value is not None and not isinstance(value, str | bool | Mapping) else None
    return {"number": row.number, "kind": row.kind, "loop": row.loop, "station": row.station, "certainty": row.certainty,
            "start_s": row.place.start_s, "line_index": row.place.line_index, "value": number, "row": row_out(row)}


def part_json(part: Part) -> str:
    return dumps(part_out(part))


@as_we_write
def part_from(text: str) -> Part:
    return part_in(json.loads(text))

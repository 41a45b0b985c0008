"""Rows of a pass: written once, matched with the rows of before, and laid under what people decided.

`machine_rows` keeps what each pass found; `current` is what stands now: people's words over the machine's row, with a mark where the
machine's row is not what the person saw. Numbers are given once and never again.
"""
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from ..records.rows import Field, Part, Row
from .codec import dumps, field_in, part_in, part_out, row_in, row_out, source_columns, source_of, span_of, value_out
from .database import Database
from .matching import match, says


def save_rows(db: Database, pass_number: int, rows: Sequence[Row]) -> list[Row]:
    """Stores the rows of a pass; returns them with their numbers, in the order given. Saved again, they are replaced.

    Rows are matched with those of the last accepted pass (store/matching.py) and take over their numbers; each edit is carried, or
    marked 'changed since you looked', or stands alone. The pass becomes the accepted one.
    """
    with db.writing():
        before = standing_machine_rows(db)
        pairs = match(before, rows)
        db.run("DELETE FROM machine_rows WHERE pass = ?", (pass_number,))
        numbered = [replace(row, number=pairs.get(i) or _new_number(db, row.kind, pass_number)) for i, row in enumerate(rows)]
        _write(db, pass_number, numbered)
        db.run("UPDATE passes SET accepted = (pass = ?)", (pass_number,))
        _lay_current(db, numbered)
    return numbered


def _new_number(db: Database, kind: str, pass_number: int | None) -> int:
    return db.run("INSERT INTO row_numbers (kind, born_in) VALUES (?, ?)", (kind, pass_number))


def standing_machine_rows(db: Database) -> dict[int, Row]:
    """Rows of the accepted pass by number, and rows that people added, which have none."""
    accepted = db.one("SELECT pass FROM passes WHERE accepted = 1")
    found = {} if accepted is None else {row.number: row for row in machine_rows(db, accepted["pass"]) if row.number is not None}
    for item in db.all("SELECT number, \"row\" FROM current"):
        found.setdefault(item["number"], row_in(item["row"]))
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


def machine_rows(db: Database, pass_number: int) -> list[Row]:
    """What a pass found, in its order."""
    fields: dict[int, dict[str, Field]] = {}
    for item in db.all("SELECT * FROM fields WHERE pass = ? ORDER BY number, position", (pass_number,)):
        fields.setdefault(item["number"], {})[item["name"]] = field_in({
            "value": json.loads(item["value"]), "origin": item["origin"], "certainty": item["certainty"], "part": item["part"],
            "why": json.loads(item["why"]), "others": json.loads(item["others"])})
    parts: dict[int, list[Part]] = {}
    for item in db.all("SELECT * FROM parts WHERE pass = ? ORDER BY number, part", (pass_number,)):
        parts.setdefault(item["number"], []).append(_part(item))
    return [_row(item, fields.get(item["number"], {}), parts[item["number"]])
            for item in db.all("SELECT * FROM machine_rows WHERE pass = ? ORDER BY position", (pass_number,))]


def _part(item: Any) -> Part:
    return Part(item["role"], item["text"], item["segment"], item["first_word"], item["last_word"], source_of(item), span_of(item),
                item["line_index"], item["start_s"])


def _row(item: Any, fields: Mapping[str, Field], parts: Sequence[Part]) -> Row:
    return Row(item["kind"], fields, tuple(parts), item["loop"], item["station"], item["turn"], tuple(json.loads(item["look"])),
               tuple(json.loads(item["doubt"])), json.loads(item["witnesses"]), item["number"])


def _lay_current(db: Database, rows: Sequence[Row]) -> None:
    """The view of now: a row that nobody touched is the machine's; an edit stays, whatever the new pass found."""
    touched = {item["number"]: item for item in db.all("SELECT * FROM current WHERE edit IS NOT NULL")}
    db.run("DELETE FROM current WHERE edit IS NULL")
    new = {row.number: row for row in rows}
    for number, item in touched.items():
        set_mark(db, number, _mark(db, item, new.get(number)))
    put_current(db, [row for row in rows if row.number not in touched])


def _mark(db: Database, item: Any, now: Row | None) -> str:
    """How an edited row stands to the new pass."""
    if now is None:
        return "stands alone"
    edit = db.one("SELECT saw FROM edits WHERE edit = ?", (item["edit"],))
    saw = row_in(edit["saw"]) if edit is not None and edit["saw"] else None
    return "carried" if saw is None or says(saw) == says(now) else "changed since you looked"


def set_mark(db: Database, number: int, mark: str) -> None:
    db.run("UPDATE current SET mark = ? WHERE number = ?", (mark, number))


def put_current(db: Database, rows: Sequence[Row], *, edit: int | None = None, state: str = "standing") -> None:
    """Writes rows as what stands now."""
    db.insert("current", [current_columns(row) | {"state": state, "mark": "", "edit": edit, "revision": edit or 0} for row in rows],
              replacing=True)


def current_columns(row: Row) -> dict[str, Any]:
    value = row.get("value")
    number = float(value) if value is not None and not isinstance(value, str | bool | Mapping) else None
    return {"number": row.number, "kind": row.kind, "loop": row.loop, "station": row.station, "certainty": row.certainty,
            "start_s": row.place.start_s, "line_index": row.place.line_index, "value": number, "row": row_out(row)}


def part_json(part: Part) -> str:
    return dumps(part_out(part))


def part_from(text: str) -> Part:
    return part_in(json.loads(text))

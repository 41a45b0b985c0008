"""Tables of rows: one file a kind."""
import csv
import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from ..records.kinds import KINDS
from ..records.rows import FieldValue, Row


def write_tables(rows: Sequence[Row], folder: Path) -> None:
    """CSV of every kind. A row is placed by line_index where its evidence has one, else by start_s, never both."""
    folder.mkdir(parents=True, exist_ok=True)
    for table, kind in KINDS.items():
        names = [column.name for column in kind.columns]
        with (folder / f"{table}.csv").open("w", newline="", encoding="utf-8") as out:
            writer = csv.writer(out)
            writer.writerow(["line_index", "start_s", "loop", *names, "certainty"])
            for row in rows:
                if row.kind == table:
                    writer.writerow([*_place(row), *(cell(row.get(name)) for name in names), row.certainty])


def _place(row: Row) -> tuple[object, object, object]:
    place = row.place
    if place.line_index is not None:
        return place.line_index, "", ""
    return "", "" if place.start_s is None else round(place.start_s, 3), row.loop or ""


def cell(value: FieldValue) -> object:
    """A field as a cell: flags as true and false, maps as JSON, nothing as an empty cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(dict(value), ensure_ascii=False) if isinstance(value, Mapping) else value

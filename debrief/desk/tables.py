"""Tables of rows as CSV, one file a kind, with a description of all columns beside them (Frictionless Data Package).

UTF-8, quoted text, plain numbers. Text that a spreadsheet would run as a formula gets an apostrophe in front; numbers and clock times
with a sign stay as they are.
"""
import csv
import io
import json
import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from ..records.kinds import KINDS
from ..records.rows import Row
from .columns import TableColumn, columns_of
from .records_of import Cell, Clocks, records
from .whole_files import write_whole

_RUNS_AS_FORMULA = re.compile(r"^\s*[=@+\-＝＠＋－]|^[\t\r\n]")
_SIGNED_NUMBER = re.compile(r"^[+-]\d[\d.:]*$")
_FRICTIONLESS = {"number": "number", "seconds": "number", "whole": "integer", "flag": "boolean", "text": "string", "map": "object",
                 "instant": "datetime"}


def write_tables(rows: Sequence[Row], folder: Path, clocks: Clocks | None = None) -> None:
    """CSV of every kind and datapackage.json. A row is placed by line_index where its evidence has one, else by start_s, never both."""
    for table in KINDS:
        write_whole(folder / f"{table}.csv", csv_text(rows, table, clocks))
    write_whole(folder / "datapackage.json", json.dumps(data_package(), ensure_ascii=False, indent=1) + "\n")


def csv_text(rows: Sequence[Row], table: str, clocks: Clocks | None = None) -> str:
    out = io.StringIO()
    columns = columns_of(table)
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow([column.name for column in columns])
    for item in records(rows, table, clocks):
        writer.writerow([cell(item[column.name]) for column in columns])
    return out.getvalue()


def cell(value: Cell) -> object:
    """A cell of CSV: flags as true and false, maps as JSON, instants as ISO 8601, numbers plain, nothing as an empty cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Decimal):
        return Plain(value)
    if isinstance(value, Mapping):
        return guarded(json.dumps(dict(value), ensure_ascii=False)) if value else ""
    if isinstance(value, datetime):
        return value.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    return guarded(value) if isinstance(value, str) else value


class Plain(float):
    """A Decimal for the csv writer, which quotes what is no float: written with all its places and without an exponent."""

    def __new__(cls, value: Decimal) -> "Plain":
        made = super().__new__(cls, value)
        made.text = format(value, "f")
        return made

    text: str

    def __repr__(self) -> str:
        return self.text

    __str__ = __repr__


def guarded(text: str) -> str:
    """The text, made harmless where a spreadsheet would run it; NUL goes, since no reader of CSV takes it."""
    text = text.replace("\0", "\ufffd")
    return f"'{text}" if _RUNS_AS_FORMULA.match(text) and not _SIGNED_NUMBER.match(text) else text


def data_package() -> dict[str, Any]:
    """What the CSV files hold, as a Frictionless Data Package (datapackage.json)."""
    return {"profile": "tabular-data-package", "name": "debrief-tables", "resources": [{
        "name": table.replace("_", "-"), "path": f"{table}.csv", "title": kind.title, "description": kind.says,
        "profile": "tabular-data-resource", "encoding": "utf-8", "format": "csv", "mediatype": "text/csv",
        "schema": {"fields": [_described(column) for column in columns_of(table)], "missingValues": [""]},
    } for table, kind in KINDS.items()]}


def _described(column: TableColumn) -> dict[str, Any]:
    found = {"name": column.name, "type": _FRICTIONLESS[column.type], "description": column.says}
    return found | ({"unit": column.unit} if column.unit else {})

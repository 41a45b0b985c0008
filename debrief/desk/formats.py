"""The tables as Parquet, as a workbook and as JSON Lines. CSV and its description are in desk/tables.py.

Parquet: exact types; the file's metadata names program, kind and recordings, each column's its unit and meaning. Workbook: a sheet a kind,
frozen heads, true numbers and times, every text a text, so that none runs as a formula. JSON Lines: whole rows, each field with
its origin and certainty, each piece of evidence with its span.
"""
import io
import json
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from threading import Lock
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter

from .. import __version__
from ..records.kinds import KINDS
from ..records.rows import Row
from ..records.sound import Recording
from ..store.codec import row_out
from .columns import TableColumn, columns_of
from .records_of import Cell, Clocks, records
from .whole_files import scratch, write_whole

_ARROW: dict[str, pa.DataType] = {
    "number": pa.float64(), "seconds": pa.float64(), "whole": pa.int64(), "flag": pa.bool_(), "text": pa.string(),
    "map": pa.map_(pa.string(), pa.string()), "instant": pa.timestamp("ms", tz="UTC")}
_LONGEST_CELL = 32_000
_HEAD_FILL = PatternFill("solid", fgColor="E8EBEE")
_WIDTHS = {"evidence": 48, "why": 40, "look": 28, "text": 32, "what": 32, "origins": 24, "certainties": 24, "utc": 24}
CAUTION = ("Values come from speech recognition. Hear them before you rely on them. They never replace telemetry, procedures, "
           "medical judgement, licensed practice or local rules.")


def clocks_of(recordings: Sequence[Recording]) -> Clocks:
    return {item.recording: item.clock for item in recordings}


def write_parquet(rows: Sequence[Row], folder: Path, recordings: Sequence[Recording] = ()) -> None:
    for table in KINDS:
        write_whole(folder / f"{table}.parquet", parquet(rows, table, recordings))


def write_json_lines(rows: Sequence[Row], folder: Path) -> None:
    for table in KINDS:
        write_whole(folder / f"{table}.jsonl", json_lines(rows, table))


# Parquet


def parquet(rows: Sequence[Row], table: str, recordings: Sequence[Recording] = ()) -> bytes:
    out = io.BytesIO()
    pq.write_table(arrow_table(rows, table, recordings), out)
    return out.getvalue()


def arrow_table(rows: Sequence[Row], table: str, recordings: Sequence[Recording] = ()) -> pa.Table:
    """The rows of a kind as an Arrow table with typed columns; numbers are doubles, their exact text is in JSON Lines."""
    items = records(rows, table, clocks_of(recordings))
    columns = columns_of(table)
    kind = KINDS[table]
    made = {"program": f"debrief {__version__}", "kind": table, "title": kind.title, "says": kind.says, "caution": CAUTION,
            "recordings": json.dumps([{"recording": item.recording, "file": Path(item.path).name, "sha256": item.sha256}
                                      for item in recordings])}
    schema = pa.schema([_arrow_field(column) for column in columns], metadata=made)
    arrays = [pa.array([_arrow_cell(item[column.name], column) for item in items], _ARROW[column.type]) for column in columns]
    return pa.Table.from_arrays(arrays, schema=schema)


def _arrow_field(column: TableColumn) -> pa.Field:
    about = {"says": column.says} | ({"unit": column.unit} if column.unit else {})
    return pa.field(column.name, _ARROW[column.type], metadata=about)


def _arrow_cell(value: Cell, column: TableColumn) -> Any:
    if isinstance(value, Mapping):
        return [(str(key), str(item)) for key, item in value.items()]
    if column.type in ("number", "seconds") and value is not None:
        return float(value)
    return str(value) if column.type == "text" and value is not None else value


# JSON Lines


def json_lines(rows: Sequence[Row], table: str) -> str:
    """Whole rows, one a line; a number with its places is {"d": "34.30"}, a map {"m": {...}}."""
    return "".join(row_out(row) + "\n" for row in rows if row.kind == table)


# workbook


def write_workbook(rows: Sequence[Row], file: Path, recordings: Sequence[Recording] = (), about: Mapping[str, str] | None = None) -> None:
    with scratch(file.parent, "workbook") as folder, _sheets_in(folder):
        write_whole(file, workbook(rows, recordings, about))


_ONE_AT_A_TIME = Lock()


@contextmanager
def _sheets_in(folder: Path) -> Iterator[None]:
    """openpyxl keeps each sheet in a file of its own until all are written, and asks only the module `tempfile` where."""
    with _ONE_AT_A_TIME:
        before, tempfile.tempdir = tempfile.tempdir, str(folder)
        try:
            yield
        finally:
            tempfile.tempdir = before


def workbook(rows: Sequence[Row], recordings: Sequence[Recording] = (), about: Mapping[str, str] | None = None) -> bytes:
    book = Workbook(write_only=True)
    try:
        _about_sheet(book, recordings, about or {})
        for table in KINDS:
            _kind_sheet(book, table, records(rows, table, clocks_of(recordings)))
        out = io.BytesIO()
        book.save(out)
    finally:
        _close(book)
    return out.getvalue()


def _close(book: Workbook) -> None:
    """Closes the sheets that were not saved (stopped on the way): left to themselves, they complain at the program's end."""
    for sheet in book.worksheets:
        if not sheet.closed:
            with suppress(Exception):  # the one in the midst of a row cannot be closed in order, and complains of nothing later
                sheet.close()


def _about_sheet(book: Workbook, recordings: Sequence[Recording], about: Mapping[str, str]) -> None:
    sheet = book.create_sheet("About")
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width, sheet.column_dimensions["C"].width = 24, 90, 10
    for name, value in {**about, "caution": CAUTION, "made by": f"debrief {__version__}"}.items():
        sheet.append([_text(sheet, name, bold=True), _text(sheet, value)])
    for item in recordings:
        sheet.append([_text(sheet, item.recording, bold=True), _text(sheet, f"{Path(item.path).name}, sha256 {item.sha256}")])
    sheet.append([])
    sheet.append([_text(sheet, head, bold=True) for head in ("column", "holds", "unit")])
    known = {column.name: column for table in KINDS for column in columns_of(table)}
    for column in known.values():
        sheet.append([_text(sheet, column.name), _text(sheet, column.says), _text(sheet, column.unit)])


def _kind_sheet(book: Workbook, table: str, items: Sequence[Mapping[str, Cell]]) -> None:
    sheet = book.create_sheet(KINDS[table].title)
    columns = [_FIRST, *(column for column in columns_of(table) if column.name != "row")]
    sheet.freeze_panes = "B2"
    for position, column in enumerate(columns, 1):
        sheet.column_dimensions[get_column_letter(position)].width = _WIDTHS.get(column.name, max(10, len(column.name) + 2))
    sheet.append([_text(sheet, _head(column), bold=True) for column in columns])
    for item in items:
        sheet.append([_sheet_cell(sheet, item[column.name], column) for column in columns])
    if items:
        sheet.auto_filter.ref = f"A1:{get_column_letter(len(columns))}{len(items) + 1}"


_FIRST = next(column for column in columns_of("readouts") if column.name == "row")


def _head(column: TableColumn) -> str:
    return f"{column.name} ({column.unit})" if column.unit and not column.name.endswith(f"_{column.unit}") else column.name


def _cell(sheet: Any, value: Any) -> Any:
    return WriteOnlyCell(sheet, value)


def _sheet_cell(sheet: Any, value: Cell, column: TableColumn) -> Any:
    if value is None:
        return None
    if column.name == "session_time":
        return _time(sheet, value)
    if isinstance(value, datetime):
        made = WriteOnlyCell(sheet, value.replace(tzinfo=None))
        made.number_format = "yyyy-mm-dd hh:mm:ss.000"
        return made
    if isinstance(value, Decimal):
        made = _cell(sheet, value)
        exponent = value.as_tuple().exponent
        made.number_format = "0." + "0" * -exponent if isinstance(exponent, int) and exponent < 0 else "General"
        return made
    if isinstance(value, Mapping):
        value = "; ".join(f"{key}={item}" for key, item in value.items())
    return _text(sheet, value) if isinstance(value, str) else value


def _time(sheet: Any, text: str) -> Any:
    """'-1:02:03' as a true time; times before zero stay text, since spreadsheets show none."""
    if text.startswith("-"):
        return _text(sheet, text)
    hours, minutes, seconds = (int(item) for item in text.split(":"))
    made = _cell(sheet, timedelta(hours=hours, minutes=minutes, seconds=seconds))
    made.number_format = "[hh]:mm:ss"  # one h alone is shown as a time of day by LibreOffice
    return made


def _text(sheet: Any, text: str, *, bold: bool = False) -> Any:
    """A cell that is text whatever it begins with, without characters that the format forbids."""
    made = WriteOnlyCell(sheet, ILLEGAL_CHARACTERS_RE.sub("\ufffd", text)[:_LONGEST_CELL].encode("utf-8", "replace").decode())
    made.data_type = "s"
    if bold:
        made.font, made.fill, made.alignment = Font(bold=True), _HEAD_FILL, Alignment(vertical="top")
    return made

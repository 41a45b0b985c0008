"""Cards from a sheet that people keep elsewhere: CSV (comma, semicolon or tab) or XLSX.

One row a step, rating or readout; a row may hold all three. Columns: card, title, spoken, step, text, rating, scale, by, readout,
unit, subject, also_called. Empty card cells repeat the card above. Several names in a cell are parted by semicolons or new lines (in
a file parted by semicolons: by "|"). Every cell is text: '007' stays '007', a spreadsheet's 1.0 is '1'.
"""
import csv
import difflib
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zipfile import BadZipFile, ZipFile

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from .errors import Fault
from .small_files import check_small, read_small

COLUMNS = ("card", "title", "spoken", "step", "text", "rating", "scale", "by", "readout", "unit", "subject", "also_called")
MOST_ROWS = 20_000
MOST_BYTES = 20_000_000
MOST_UNPACKED_BYTES = 200_000_000


@dataclass
class CardSheet:
    """cards: each as a session file would hold it, with the line or sheet row where it begins."""

    cards: list[tuple[dict[str, Any], int]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def read_cards(path: Path) -> CardSheet:
    """Cards of a CSV or XLSX file; what is wrong with it stands in the faults, nothing is raised."""
    sheet = CardSheet()
    try:
        check_small(path, MOST_BYTES)
        rows = _xlsx_rows(path) if path.suffix.lower() in {".xlsx", ".xlsm"} else _csv_rows(path)
        _fill(sheet, rows)
    except FileNotFoundError:
        sheet.faults.append(Fault("no such sheet of cards", hint="it is looked for beside the session file"))
    except (OSError, ValueError, KeyError, csv.Error, BadZipFile, InvalidFileException) as error:
        sheet.faults.append(Fault(f"not a readable sheet of cards: {error}", hint="give a CSV file in UTF-8 or an XLSX file"))
    return sheet


def _csv_rows(path: Path) -> Iterator[tuple[int, Sequence[Any]]]:
    text = read_small(path, MOST_BYTES)
    head = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=head.count)
    reader = csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)
    for row in reader:
        yield reader.line_num, [cell.replace("|", ";") if delimiter == ";" else cell for cell in row]


def _xlsx_rows(path: Path) -> Iterator[tuple[int, Sequence[Any]]]:
    with ZipFile(path) as packed:
        if sum(item.file_size for item in packed.infolist()) > MOST_UNPACKED_BYTES:
            raise ValueError(f"it unpacks to more than {MOST_UNPACKED_BYTES // 1_000_000} MB")
    book = load_workbook(path, read_only=True, data_only=True)
    try:
        yield from enumerate(book.worksheets[0].iter_rows(values_only=True), 1)
    finally:
        book.close()


def _fill(sheet: CardSheet, rows: Iterable[tuple[int, Sequence[Any]]]) -> None:
    numbered = iter(rows)
    line, head = next(numbered, (1, ()))
    names = [_text(cell).lower().replace(" ", "_") for cell in head]
    for name in names:
        if name and name not in COLUMNS:
            near = difflib.get_close_matches(name, COLUMNS, 1)
            sheet.faults.append(Fault("unknown column", name, line, f"did you mean {near[0]!r}?" if near else "it is not read", True))
    if "card" not in names:
        sheet.faults.append(Fault("has no column 'card'", line=line, hint=f"the first line names the columns: {', '.join(COLUMNS)}"))
        return
    for line, cells in numbered:
        if line > MOST_ROWS:
            sheet.faults.append(Fault(f"more than {MOST_ROWS} rows", line=line))
            return
        row = {name: _text(cell) for name, cell in zip(names, cells, strict=False)}
        if any(row.values()):
            _add(sheet, row, line)


def _text(cell: Any) -> str:
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    return "" if cell is None else str(cell).strip()


def _names(cell: str) -> list[str]:
    return [name.strip() for name in cell.replace("\n", ";").split(";") if name.strip()]


def _add(sheet: CardSheet, row: dict[str, str], line: int) -> None:
    card = _card(sheet, row, line)
    if card is None:
        sheet.faults.append(Fault("a row before the first card is named", line=line, hint="fill its 'card' cell"))
        return
    if row.get("step"):
        card["steps"].append({"id": row["step"], "text": row.get("text", "")})
    if row.get("rating"):
        card["ratings"].append(_kept({"axes": _names(row["rating"]), "scale": row.get("scale"), "by": _names(row.get("by", ""))}))
    if row.get("readout"):
        card["readouts"].append(_kept({"what": row["readout"], "unit": row.get("unit"), "subject": row.get("subject"),
                                       "also_called": _names(row.get("also_called", ""))}))


def _card(sheet: CardSheet, row: dict[str, str], line: int) -> dict[str, Any] | None:
    """The card a row belongs to: a new one where its cell names one that has not been named."""
    name = row.get("card")
    if not name:
        return sheet.cards[-1][0] if sheet.cards else None
    found = next((card for card, _ in sheet.cards if card["id"] == name), None)
    if found is None:
        found = {"id": name, "title": row.get("title", ""), "spoken": _names(row.get("spoken", "")),
                 "steps": [], "ratings": [], "readouts": []}
        sheet.cards.append((found, line))
    return found


def _kept(entry: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in entry.items() if value}

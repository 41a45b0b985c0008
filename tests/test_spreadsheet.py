"""Every table, opened by a spreadsheet program from outside: the workbook sheet by sheet, each CSV as somebody would open it. Nothing runs, no
cell is lost, every value is the same, and the program says nothing against it.

Needs LibreOffice Calc (Debian: libreoffice-calc); skipped where it is not on the machine. The workbook is read by openpyxl and pandas besides.
"""
import csv
import json
import shutil
import subprocess
from datetime import datetime
from decimal import Decimal

import openpyxl
import pandas as pd
import pytest
from every_table import CLOCK, RECORDING, ROWS

from debrief.desk.columns import columns_of
from debrief.desk.contents import Contents
from debrief.desk.handout import write_forms
from debrief.desk.records_of import records
from debrief.records.kinds import KINDS

SOFFICE = shutil.which("soffice") or shutil.which("libreoffice")
pytestmark = [pytest.mark.outside, pytest.mark.timeout(600)]
needs_calc = pytest.mark.skipif(SOFFICE is None, reason="LibreOffice Calc is not on this machine")
OUT_AS_SHOWN = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
"""Every sheet as a CSV of what a person sees."""
IN_AT_ITS_WORST = "CSV:44,34,76,1,,0,true,false,false,false,false,0,true"
"""Comma, quotes, UTF-8, quoted cells as text, and formulas run where there are any."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("tables")
    write_forms(Contents(ROWS, recordings=[RECORDING]), made, ("csv", "xlsx"))
    return made


@pytest.fixture(scope="module")
def calc(tmp_path_factory):
    """Runs the program on files; whatever it says beside the names of what it converts fails the test."""
    profile = tmp_path_factory.mktemp("profile")

    def convert(*words):
        done = subprocess.run([SOFFICE, f"-env:UserInstallation=file://{profile}", "--headless", *map(str, words)],
                              capture_output=True, text=True, check=False, timeout=500)
        assert done.returncode == 0, done.stderr
        assert not [line for line in done.stderr.splitlines() if "javaldx" not in line]  # it misses a Java that no table needs
        assert all(line.startswith(("convert ", "Writing sheet ")) for line in done.stdout.splitlines()), done.stdout

    return convert


@pytest.fixture(scope="module")
def seen(folder, calc, tmp_path_factory):
    """The workbook's sheets as the program shows them: title -> rows of cells."""
    out = tmp_path_factory.mktemp("seen")
    calc("--convert-to", OUT_AS_SHOWN, "--outdir", out, folder / "tables" / "debrief.xlsx")
    found = {}
    for path in out.glob("*.csv"):
        with path.open(newline="", encoding="utf-8") as file:
            found[path.stem.removeprefix("debrief-")] = list(csv.reader(file))
    return found


@pytest.fixture(scope="module")
def opened(folder, calc, tmp_path_factory):
    """Each CSV as the program holds it after opening: kind -> sheet."""
    out = tmp_path_factory.mktemp("opened")
    calc(f"--infilter={IN_AT_ITS_WORST}", "--convert-to", "xlsx", "--outdir", out, *(folder / f"{table}.csv" for table in KINDS))
    return {table: openpyxl.load_workbook(out / f"{table}.xlsx").active for table in KINDS}


def in_sheet_order(table):
    """Columns as the workbook has them: the row's number first."""
    columns = columns_of(table)
    return [next(column for column in columns if column.name == "row"), *(column for column in columns if column.name != "row")]


def written(table):
    return records(ROWS, table, {RECORDING.recording: CLOCK})


def shown_in_sheet(value, column) -> str:
    """What a person reads in the workbook's cell."""
    if value is None or value == {}:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d %H:%M:%S.") + f"{value.microsecond // 1000:03d}"
    return "; ".join(f"{key}={item}" for key, item in value.items()) if isinstance(value, dict) else str(value)


@needs_calc
@pytest.mark.parametrize("table", KINDS)
def test_every_cell_of_the_workbook_is_shown_as_it_was_written(seen, table):
    columns, items = in_sheet_order(table), written(table)
    head, *lines = seen[KINDS[table].title]
    assert [name.split(" (")[0] for name in head] == [column.name for column in columns]
    assert len(lines) == len(items)
    for line, item in zip(lines, items, strict=True):
        for cell, column in zip(line, columns, strict=True):
            value = item[column.name]
            if column.type in ("number", "seconds", "whole") and value is not None:
                assert Decimal(cell) == Decimal(str(value)), column.name
            elif column.name == "session_time" and value is not None:
                assert cell == f"{value:0>8}"  # a time of the workbook: hours with two digits
            else:
                assert cell == shown_in_sheet(value, column), column.name


@needs_calc
@pytest.mark.parametrize("table", KINDS)
def test_every_csv_opens_with_its_values_and_runs_nothing(folder, opened, table):
    with (folder / f"{table}.csv").open(newline="", encoding="utf-8") as file:
        written_cells = list(csv.reader(file))
    lines = list(opened[table].iter_rows())
    assert len(lines) == len(written_cells) == len(written(table)) + 1
    for line, cells in zip(lines, written_cells, strict=True):
        for held, cell, column in zip(line, cells, columns_of(table), strict=True):
            assert held.data_type != "f", cell
            assert same_cell(held.value, cell, column.type), (column.name, held.value, cell)


def same_cell(held, cell: str, kind: str) -> bool:
    if held is None:
        return cell == ""
    if isinstance(held, bool):
        return cell == str(held).lower()
    if isinstance(held, int | float) and kind in ("number", "seconds", "whole"):
        return Decimal(str(held)) == Decimal(cell)
    return str(held) == cell


def test_a_formula_would_be_seen(tmp_path, request):
    """The probe itself: a file that is not guarded holds a formula after opening."""
    if SOFFICE is None:
        pytest.skip("LibreOffice Calc is not on this machine")
    (tmp_path / "bad.csv").write_text("name\r\n=1+1\r\n", encoding="utf-8")
    request.getfixturevalue("calc")(f"--infilter={IN_AT_ITS_WORST}", "--convert-to", "xlsx", "--outdir", tmp_path, tmp_path / "bad.csv")
    assert openpyxl.load_workbook(tmp_path / "bad.xlsx").active["A2"].data_type == "f"


@pytest.mark.parametrize("table", KINDS)
def test_pandas_reads_the_same_values_from_the_workbook(folder, table):
    frame = pd.read_excel(folder / "tables" / "debrief.xlsx", sheet_name=KINDS[table].title, keep_default_na=False)
    for position, column in enumerate(in_sheet_order(table)):
        for held, item in zip(frame.iloc[:, position], written(table), strict=True):
            value = item[column.name]
            if value is None or value == {}:
                assert held in ("", None) or pd.isna(held)
            elif column.type in ("number", "seconds", "whole"):
                assert Decimal(str(held)) == Decimal(str(value))
            elif column.type == "text" and column.name != "session_time":
                assert held == value
            elif column.type == "map":
                assert held == shown_in_sheet(value, column)


def test_maps_in_csv_are_json(folder):
    frame = pd.read_csv(folder / "polls.csv", keep_default_na=False)
    assert [json.loads(cell) for cell in frame["origins"] if cell] == [item["origins"] for item in written("polls") if item["origins"]]

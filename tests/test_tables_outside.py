"""The tables as programs from outside read them: the description beside the CSV by frictionless, CSV and Parquet by DuckDB and pandas.

Standards: Frictionless Data Package and Table Schema (specs.frictionlessdata.io), checked by their reference implementation; Apache
Parquet. Values must be equal in every form, and no reader may warn.
"""
import json
from datetime import UTC, datetime
from decimal import Decimal

import duckdb
import frictionless
import pandas as pd
import pytest
from every_table import RECORDING, ROWS

from debrief.desk.contents import Contents
from debrief.desk.handout import write_forms
from debrief.records.kinds import KINDS

pytestmark = pytest.mark.outside


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("tables")
    write_forms(Contents(ROWS, recordings=[RECORDING]), made)
    return made


def test_the_description_and_every_csv_are_valid(folder):
    report = frictionless.validate(str(folder / "datapackage.json"))
    assert report.flatten(["name", "rowNumber", "fieldName", "note"]) == []
    assert len(report.tasks) == len(KINDS)


def test_a_csv_that_does_not_fit_its_description_is_found(folder, tmp_path):
    (tmp_path / "datapackage.json").write_text((folder / "datapackage.json").read_text("utf-8"), encoding="utf-8")
    for table in KINDS:
        text = (folder / f"{table}.csv").read_text("utf-8")
        (tmp_path / f"{table}.csv").write_text(text.replace("-34.30", "about", 1) if table == "readouts" else text, encoding="utf-8", newline="")
    report = frictionless.validate(str(tmp_path / "datapackage.json"))
    assert report.flatten(["fieldName", "type"]) == [["value", "type-error"]]


@pytest.mark.parametrize("table", KINDS)
def test_duckdb_and_pandas_read_the_same_values_from_csv_and_parquet(folder, table):
    csv, parquet = folder / f"{table}.csv", folder / "tables" / f"{table}.parquet"
    wanted = [item for item in ROWS if item.kind == table]
    with duckdb.connect() as base:
        by_csv = base.execute("SELECT * FROM read_csv(?, header = true, all_varchar = true, nullstr = '')", [str(csv)]).fetchall()
        heads = [item[0] for item in base.description]
        by_parquet = base.execute("SELECT * FROM read_parquet(?)", [str(parquet)]).fetchall()
        assert [item[0] for item in base.description] == heads
    frame, typed = pd.read_csv(csv, dtype=str, keep_default_na=False), pd.read_parquet(parquet)
    assert len(by_csv) == len(by_parquet) == len(frame) == len(typed) == len(wanted)
    for column in KINDS[table].columns:
        at = heads.index(column.name)
        for i, item in enumerate(wanted):
            cell, exact = by_csv[i][at] or "", by_parquet[i][at]
            assert frame[column.name][i] == cell
            assert same(item.get(column.name), cell, exact, column.type)


def same(value, cell: str, exact, kind: str) -> bool:
    """Whether a field stands in a cell of CSV and in one of Parquet."""
    if value is None or value == {}:
        return cell == "" and exact in (None, {})
    if kind == "map":
        return json.loads(cell) == dict(value) == dict(exact)
    if kind == "flag":
        return cell == str(value).lower() and exact is value
    if kind in ("number", "seconds"):
        return Decimal(cell) == Decimal(str(value)) and exact == float(value)
    return cell in (value, f"'{value}") and exact == value


def test_times_are_instants_with_their_zone(folder):
    with duckdb.connect() as base:
        base.execute("SET TimeZone = 'UTC'")
        found = base.execute("SELECT epoch_ms(utc) FROM read_parquet(?) WHERE row = 1", [str(folder / "tables" / "readouts.parquet")]).fetchone()
    assert datetime.fromtimestamp(found[0] / 1000, UTC) == datetime(2031, 5, 14, 12, 0, 1, tzinfo=UTC)


def test_json_lines_hold_the_same_rows(folder):
    with duckdb.connect() as base:
        found = base.execute("SELECT number FROM read_json_auto(?, format = 'newline_delimited') ORDER BY number",
                             [str(folder / "tables" / "readouts.jsonl")]).fetchall()
    assert [item[0] for item in found] == sorted(item.number for item in ROWS if item.kind == "readouts")

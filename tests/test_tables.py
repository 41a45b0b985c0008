"""Tables in every form: equal values, types that hold, text that never runs."""
import csv
import io
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import openpyxl
import pandas as pd
import pyarrow.parquet as pq
import pytest

import debrief
from debrief.desk.columns import columns_of
from debrief.desk.formats import json_lines, parquet, workbook
from debrief.desk.tables import cell, csv_text, guarded, write_tables
from debrief.records.kinds import KINDS
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Recording, Source
from debrief.store.codec import row_in
from debrief.store.sessions import SessionStore
from debrief.timebase import RecordingClock, Span

SOURCE = Source("r1", 0)
CLOCK = RecordingClock(start=datetime(2031, 5, 14, 14, 0, tzinfo=timezone(timedelta(hours=2))), start_uncertainty_s=0.5)
RECORDING = Recording("r1", "deep/wire.flac", "ab" * 32, 160_000, 8000, 1, ("Wire",), CLOCK)
PLACE = Part("value", "three four point three zero", source=SOURCE, span=Span.of_seconds(3661.5, 3663), start_s=3661.5)
READOUT = Row("readouts", {
    "parameter": Field("tank pressure", part=0), "value": Field(Decimal("34.30"), part=0), "approximate": Field(False),
    "unit": Field("bar", "assumed", "doubtful", why=("no unit said",))}, (PLACE,), "Wire", "Rigger", look=("over its limit",), number=17)
RATING = Row("ratings", {"axis": Field("ride"), "value": Field(Decimal(3)), "condition": Field({"car": "empty"})}, (PLACE,), number=18)
TEXTS = ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "  =1", "＝1", "=HYPERLINK(\"x\")"]


def read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_a_row_as_csv():
    (line,) = read(csv_text([READOUT], "readouts", {"r1": CLOCK}))
    assert {name: line[name] for name in ("line_index", "start_s", "loop", "value", "unit", "certainty", "row", "session_time", "utc", "why",
                                          "look", "approximate", "end_s")} == {
        "line_index": "", "start_s": "3661.5", "loop": "Wire", "value": "34.30", "unit": "bar", "certainty": "doubtful", "row": "17",
        "session_time": "1:01:01", "utc": "2031-05-14T13:01:01.500Z", "why": "unit: no unit said", "look": "over its limit",
        "approximate": "false", "end_s": "3663.0"}
    assert json.loads(line["origins"])["unit"] == "assumed"


def test_a_row_of_a_transcript_line_has_a_line_and_no_time():
    (line,) = read(csv_text([replace(READOUT, evidence=(replace(PLACE, line_index=4),))], "readouts"))
    assert (line["line_index"], line["start_s"], line["loop"]) == ("4", "", "")


def test_no_rows_give_heads_alone(tmp_path):
    write_tables([], tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([*(f"{table}.csv" for table in KINDS), "datapackage.json"])
    assert read((tmp_path / "readouts.csv").read_text("utf-8")) == []


@pytest.mark.parametrize("text", TEXTS)
def test_text_never_begins_as_a_formula(text):
    """The signs are those that OWASP's page on CSV injection lists (from memory)."""
    assert guarded(text) == f"'{text}"
    (line,) = read(csv_text([READOUT.with_fields(parameter=Field(text))], "readouts"))
    assert line["parameter"].startswith("'")
    book = openpyxl.load_workbook(io.BytesIO(workbook([READOUT.with_fields(parameter=Field(text))])))
    assert all(item.data_type != "f" for sheet in book for line in sheet.iter_rows() for item in line)


@pytest.mark.parametrize(("value", "text"), [
    (Decimal("-2"), "-2"), (Decimal("1E+3"), "1000"), (Decimal("0.10"), "0.10"), ("-00:00:17", "-00:00:17"), ("+4", "+4"), (None, ""),
    (True, "true"), ({}, ""), (datetime(2031, 1, 1, tzinfo=UTC), "2031-01-01T00:00:00.000Z")])
def test_cells(value, text):
    assert str(cell(value)) == text


def test_every_form_holds_the_same_values():
    rows = [READOUT, RATING, replace(READOUT, number=19, fields={**READOUT.fields, "value": Field(Decimal("-0.5"))})]
    by_csv = pd.read_csv(io.StringIO(csv_text(rows, "readouts")))["value"].tolist()
    by_parquet = pq.read_table(io.BytesIO(parquet(rows, "readouts")))["value"].to_pylist()
    sheet = openpyxl.load_workbook(io.BytesIO(workbook(rows)))["Readouts"]
    heads = [item.value for item in sheet[1]]
    by_sheet = [line[heads.index("value")].value for line in sheet.iter_rows(min_row=2)]
    by_lines = [float(row_in(line).get("value")) for line in json_lines(rows, "readouts").splitlines()]
    assert by_csv == by_parquet == by_sheet == by_lines == [34.3, -0.5]
    assert sheet.freeze_panes == "B2"


def test_a_workbook_has_true_times():
    sheet = openpyxl.load_workbook(io.BytesIO(workbook([READOUT], [RECORDING])))["Readouts"]
    line = dict(zip([item.value for item in sheet[1]], [item.value for item in sheet[2]], strict=True))
    assert line["session_time"] == timedelta(hours=1, minutes=1, seconds=1)
    assert line["utc"] == datetime(2031, 5, 14, 13, 1, 1, 500_000)  # noqa: DTZ001 (a workbook knows no zones)


def test_parquet_says_units_and_sources():
    schema = pq.read_table(io.BytesIO(parquet([READOUT], "readouts", [RECORDING]))).schema
    assert json.loads(schema.metadata[b"recordings"]) == [{"recording": "r1", "file": "wire.flac", "sha256": "ab" * 32}]
    assert schema.field("start_s").metadata[b"unit"] == b"s"


@pytest.mark.parametrize("table", KINDS)
def test_every_column_is_told(table):
    assert all(column.says for column in columns_of(table))
    assert len({column.name for column in columns_of(table)}) == len(columns_of(table))


def test_the_description_beside_the_csv_fits_it(tmp_path):
    write_tables([READOUT], tmp_path)
    for resource in json.loads((tmp_path / "datapackage.json").read_text("utf-8"))["resources"]:
        heads = next(csv.reader(io.StringIO((tmp_path / resource["path"]).read_text("utf-8"))))
        assert heads == [item["name"] for item in resource["schema"]["fields"]]


def test_a_session_reads_in_two_lines(tmp_path):
    with SessionStore.create(tmp_path) as store:
        store.add_recording(RECORDING)
        store.save_rows(store.begin_pass({}, {}, {}).number, [replace(READOUT, number=None), replace(RATING, number=None)])
    frames = debrief.read_session(tmp_path)
    assert frames.readouts.loc[1, "value"] == 34.3
    assert str(frames.readouts["approximate"].dtype) == "boolean"
    assert frames["ratings"].loc[2, "condition"] == {"car": "empty"}
    assert frames.readouts.attrs["start_s"]["unit"] == "s"
    assert set(frames) == set(KINDS)
    with pytest.raises(AttributeError, match="no table 'birds'"):
        _ = frames.birds

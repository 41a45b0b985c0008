"""Rows of a run against the rows that a careful listener wrote down for the demo, kind by kind.

A row finds an expected one of its kind whose line it lies on (5 s either side) and whose telling fields are the same: each finds at
most one. Counted are expected rows found, and rows that find none. Fields that are worded freely (what, location, text) are not compared.
"""
import csv
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path

from debrief.records.kinds import KINDS

TELLING: Mapping[str, tuple[str, ...]] = {
    "readouts": ("value",), "polls": ("station", "answer"), "events": ("kind",), "ratings": ("value",), "readbacks": ("match",),
    "clock_calls": ("offset_s", "remaining_s", "mark"), "times": ("seconds", "get", "kind"), "steps": ("step", "event"),
    "coverage": ("card", "item", "what"), "clock_events": ("clock", "event"), "time_hacks": ("get",), "identifiers": ("value",),
    "comparisons": ("difference",), "exceedances": ("value",)}
SLACK_S = 5.0
Row = Mapping[str, object]


@dataclass(frozen=True)
class Found:
    """expected rows, how many of them were found, how many rows of the run found none."""

    expected: int
    found: int
    wrong: int


def compare(expected: Mapping[str, Sequence[Row]], rows: Mapping[str, Sequence[Row]]) -> dict[str, Found]:
    """For each kind that either side has: what was found and what was not."""
    return {kind: _of_kind(kind, expected.get(kind, ()), rows.get(kind, ())) for kind in KINDS if kind in expected or rows.get(kind)}


def _of_kind(kind: str, expected: Sequence[Row], rows: Sequence[Row]) -> Found:
    left, wrong = list(expected), 0
    for row in rows:
        fitting = next((item for item in left if _fits(kind, item, row)), None)
        if fitting is not None:
            left.remove(fitting)
        else:
            wrong += 1
    return Found(len(expected), len(expected) - len(left), wrong)


def _fits(kind: str, expected: Row, row: Row) -> bool:
    return _at(expected, row) and all(same(expected.get(name), row.get(name)) for name in TELLING.get(kind, ()))


def _at(expected: Row, row: Row) -> bool:
    place = row.get("start_s") or row.get("readback_s")
    if "start_s" not in expected or place in (None, ""):
        return True
    return float(str(expected["start_s"])) - SLACK_S <= float(str(place)) <= float(str(expected["end_s"])) + SLACK_S


def same(one: object, other: object) -> bool:
    """Equal as numbers where both are numbers, as flags, else as text in lower case; nothing is an empty cell."""
    texts = ["" if value in (None, "") else str(value).strip().lower() for value in (one, other)]
    try:
        return Decimal(texts[0]) == Decimal(texts[1])
    except InvalidOperation:
        return texts[0] == texts[1]


def read_tables(folder: Path) -> dict[str, list[dict[str, str]]]:
    """The CSV tables of a run, by kind."""
    tables = {}
    for kind in KINDS:
        with (folder / f"{kind}.csv").open(newline="", encoding="utf-8") as file:
            tables[kind] = list(csv.DictReader(file))
    return tables


def expected_rows(folder: Path) -> dict[str, list[Row]]:
    return json.loads((folder / "rows.json").read_text(encoding="utf-8"))

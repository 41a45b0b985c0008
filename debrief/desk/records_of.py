"""Rows as records with typed cells: the one form from which every table file is written.

A cell is a Decimal, int, float, bool, str, datetime in UTC, a map of text, or None. Times are rounded to the millisecond.
"""
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

from ..records.kinds import KINDS
from ..records.rows import Part, Row
from ..timebase import RecordingClock, hms
from .plain_grounds import plain, plain_all

Cell = Any
Clocks = Mapping[str, RecordingClock]


def records(rows: Iterable[Row], table: str, clocks: Clocks | None = None) -> list[dict[str, Cell]]:
    """The rows of one kind as records, keyed by the columns of desk/columns.py, in the order given."""
    return [record(row, clocks or {}) for row in rows if row.kind == table]


def record(row: Row, clocks: Clocks) -> dict[str, Cell]:
    """One row. It is placed by line_index where its evidence has one, else by start_s and loop, never both."""
    own = {column.name: _filled(row.get(column.name)) for column in KINDS[row.kind].columns}
    return {**_place(row), **own, "certainty": row.certainty, **_about(row, clocks)}


def _filled(value: Cell) -> Cell:
    return None if value == "" else dict(value) if isinstance(value, Mapping) else value


def _place(row: Row) -> dict[str, Cell]:
    if row.place.line_index is not None:
        return {"line_index": row.place.line_index, "start_s": None, "loop": None}
    return {"line_index": None, "start_s": _rounded(row.place.start_s), "loop": row.loop}


def _about(row: Row, clocks: Clocks) -> dict[str, Cell]:
    place = row.place
    start_s = None if place.line_index is not None else place.start_s
    return {
        "row": row.number, "said_by": row.station, "end_s": None if start_s is None else _rounded(_end_s(place, clocks)),
        "session_time": None if start_s is None else hms(start_s), **_wall(place, clocks),
        "evidence": " | ".join(f"{part.role}: {part.text}" for part in row.evidence if part.text) or None,
        "why": "; ".join(reasons(row)) or None, "look": "; ".join(map(plain, row.look)) or None,
        "origins": {name: item.origin for name, item in row.fields.items() if item.value is not None},
        "certainties": {name: item.certainty for name, item in row.fields.items() if item.value is not None},
        "recording": place.source.recording if place.source else None, "channel": place.source.channel if place.source else None,
    }


def reasons(row: Row) -> list[str]:
    """Grounds of the whole row and of its fields, each once, fields named."""
    found = list(map(plain, row.doubt))
    found += [f"{name.replace('_', ' ')}: {why}" for name, item in row.fields.items() for why in plain_all(item.why)]
    return list(dict.fromkeys(found))


def _end_s(place: Part, clocks: Clocks) -> float | None:
    if place.start_s is None or place.span is None:
        return None
    rate = clocks[place.source.recording].rate if place.source and place.source.recording in clocks else 1.0
    return place.start_s + place.span.duration_s / rate


def _wall(place: Part, clocks: Clocks) -> dict[str, Cell]:
    """UTC of the place; unknown without a start, or where the start names no time zone."""
    clock = clocks.get(place.source.recording) if place.source else None
    wall: datetime | None = clock.to_wall(place.span.start_s) if clock and place.span else None
    if clock is None or wall is None or wall.tzinfo is None:
        return {"utc": None, "utc_uncertainty_s": None}
    return {"utc": wall.astimezone(UTC), "utc_uncertainty_s": clock.start_uncertainty_s}


def _rounded(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 3)

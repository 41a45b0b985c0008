"""Rows of every kind with every type of cell and with text that means mischief: what every form of table must carry unchanged."""
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from decimal import Decimal

from debrief.records.kinds import KINDS
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Recording, Source
from debrief.timebase import RecordingClock, Span

CLOCK = RecordingClock(start=datetime(2031, 5, 14, 14, 0, tzinfo=timezone(timedelta(hours=2))), start_uncertainty_s=0.5)
RECORDING = Recording("r1", "deep/wire.flac", "ab" * 32, 160_000, 8000, 1, ("Wire",), CLOCK)
TEXTS = ("tank pressure", "=1+1", 'a "quoted" one, with a comma', "two\nlines", "ünï ☃", "-00:00:17", "'", "007",
         '=HYPERLINK("http://x","y")', "@SUM(A1)", "+cmd|x")
SAMPLES = {"number": Decimal("-34.30"), "flag": True, "seconds": 12.5, "map": {"hand": "left", "=cmd": "a;b=c"}}


def row(number: int, table: str) -> Row:
    place = Part("value", "as heard", source=Source("r1", 0), span=Span.of_seconds(number, number + 0.5), start_s=float(number))
    fields = {column.name: Field(SAMPLES.get(column.type, TEXTS[number % len(TEXTS)])) for column in KINDS[table].columns}
    if number % 3 == 0:
        fields = {}
    return Row(table, fields, (place,), "Wire", "Rigger", number=number)


ROWS = [row(position * 20 + number, table) for position, table in enumerate(KINDS) for number in range(1, 13)]
ROWS.append(replace(row(998, "readouts"), evidence=(Part("value", "a line", line_index=4),)))

"""Small session stores, invented, for tests of the archive: a chamber trial in two runs."""
from collections.abc import Sequence
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

from debrief.hearing.heard_files import digest_of
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Recording, Source
from debrief.records.talk import Token, Turn
from debrief.store.sessions import SessionStore
from debrief.timebase import HEARING_RATE_HZ, RecordingClock, Span

SOURCE = Source("r1", 0)
Said = tuple[str, str]
FIRST: Sequence[Said] = (
    ("Topside", "Topside radio check on the main loop"), ("Chamber", "loud and clear"), ("Chamber", "I see a leak at the door seal"),
    ("Topside", "stop the pump, leak at the seal"), ("Medic", "the heather is holding"), ("Lead", "<script>alert(1)</script> over"))
SECOND: Sequence[Said] = (("Chamber", "no leaks so far"), ("Topside", "roger no leaks"))


def span(start_s: float, length_s: float = 2.0) -> Span:
    return Span.of_seconds(start_s, start_s + length_s)


def turn(index: int, said: Said, aside: str = "") -> Turn:
    place = span(10.0 * index)
    tokens = tuple(Token(word, word.lower(), "s1", i, place) for i, word in enumerate(said[1].split()))
    return Turn(index, tokens, said[0], None, "Main", place.start_s, place.end_s, None, SOURCE, place, set_aside=aside)


def readout(start_s: float, parameter: str, value: str, unit: str | None, **more: object) -> Row:
    part = Part("value", f"{parameter} {value} {unit or ''}".strip(), "s1", 0, 2, SOURCE, span(start_s), None, start_s)
    given = {"parameter": parameter, "value": Decimal(value), "unit": unit, **more}
    return Row("readouts", {name: Field(item, part=0) for name, item in given.items()}, (part,), "Main", "Chamber")


def answer(start_s: float, station: str, said: str) -> Row:
    part = Part("answer", said, "s1", 0, 1, SOURCE, span(start_s), None, start_s)
    return Row("polls", {"station": Field(station, part=0), "answer": Field(said, part=0)}, (part,), "Main", station)


READOUTS = (readout(5, "cabin pressure", "4.8", "psi"), readout(25, "cabin pressure", "34.0", "kPa"), readout(45, "cabin pressure", "35", "kPa"),
            readout(55, "cabin pressure", "4.5", "psi", **{"class": "limit"}), readout(65, "cabin pressure", "4.4", None),
            readout(75, "bus", "24", "V"), answer(80, "Medic", "NO-GO"), answer(85, "Lead", "GO"))


def make(folder: Path, said: Sequence[Said] = FIRST, rows: Sequence[Row] = READOUTS, *, sha256: str | None = None, day: int | None = 4,
         title: str = "Chamber trial, first run", sound: Path | None = None) -> Path:
    """A finished session store; day: of April 2031, None for no known date; sha256: that of the sound where there is any."""
    start = None if day is None else datetime(2031, 4, day, 10, tzinfo=UTC)
    known = sha256 if sha256 is not None else digest_of(sound) if sound else "a" * 64
    with SessionStore.create(folder) as store:
        store.add_recording(Recording("r1", str(sound or folder / "loop.wav"), known, 200 * HEARING_RATE_HZ, 8000, 1, ("Main",),
                                      RecordingClock(0.0, 1.0, start, 0.5)))
        store.note("title", title)
        made = store.begin_pass({"beam": "5"}, {"debrief": "0.1.0"}, {"model": "b" * 64})
        store.save_turns(made.number, [turn(i, item) for i, item in enumerate(said)])
        store.save_rows(made.number, rows)
        store.finish_pass(made.number)
    return folder

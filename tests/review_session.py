"""An invented session of any size for the review page: a store with talk, rows, checks and a listening list over a recording of tones.

One turn every STEP_S seconds on two loops of one recording; every turn gives a row but each tenth, which gives none and is heard poorly.
The recording is written with holes where nothing is said, so that ten hours cost no room.
"""
import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import numpy as np

from debrief.hearing.heard_files import digest_of
from debrief.records.findings import CheckResult, ListeningItem
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Recording, Source, Stretch
from debrief.records.talk import Token, Turn
from debrief.session import Limit, Loop, Session, Station
from debrief.store.sessions import SessionStore
from debrief.timebase import HEARING_RATE_HZ, Span

STEP_S = 2.0
RATE_HZ = 8_000
STATIONS = ("Winch", "Summit", "Valley", "Medic")
PARAMETERS = ("rope tension", "motor temperature", "wind speed", "battery voltage")
UNITS = ("kN", "C", "m/s", "V")
RECORDING = "tones.wav"


@dataclass(frozen=True)
class Size:
    """turns: how many; step_s: seconds from one to the next; sounding: how many of the first turns have a tone in the recording."""

    turns: int = 60
    step_s: float = STEP_S
    sounding: int = 60


def make_session(folder: Path, size: Size | None = None) -> Path:
    """Writes recording and store into the folder; returns the folder."""
    size = size or Size()
    folder.mkdir(parents=True, exist_ok=True)
    length_s = size.turns * size.step_s + 2
    write_tones(folder / RECORDING, length_s, size)
    session = Session(title="Rope winch trial", loops=[Loop(name="Winch"), Loop(name="Cabin")], stations=[Station(name=name) for name in STATIONS],
                      limits=[Limit(what="rope tension", unit="kN", max=44)])
    with SessionStore.create(folder) as store:
        store.note("title", session.title)
        file = (folder / RECORDING).resolve()
        store.add_recording(Recording("r1", str(file), digest_of(file), round(length_s * HEARING_RATE_HZ), RATE_HZ, 2, ("Winch", "Cabin")))
        made = store.begin_pass({"session": session.model_dump_json()}, {}, {})
        for channel in (0, 1):
            source = Source("r1", channel)
            whole = Stretch(source, Span(0, round(length_s * HEARING_RATE_HZ)), "speech")
            store.save_window((made.number, source, -1), (), [whole])
        turns = [turn_of(i, size) for i in range(size.turns)]
        store.save_turns(made.number, turns)
        rows = store.save_rows(made.number, [row_of(turn) for turn in turns if turn.index % 10 != 9])
        store.save_checks(made.number, list(check_results(rows)), listening_of(turns, rows))
        store.finish_pass(made.number)
    return folder


def turn_of(index: int, size: Size) -> Turn:
    at = index * size.step_s + 0.4
    source = Source("r1", index % 2)
    value = 20 + index * 7 % 30
    words = ("say", "again") if index % 10 == 9 else (PARAMETERS[index % 4].split()[0], PARAMETERS[index % 4].split()[1], f"{value}.5", UNITS[index % 4] + ".")
    each = min(0.3, size.step_s / 6)
    tokens = tuple(Token(word, word if index % 7 or position else "robe", f"r1.{index}", position, Span.of_seconds(at + position * each, at + (position + 1) * each),
                         0.4 if index % 10 == 9 else 0.9, "sounds like it" if position == 0 and not index % 7 else "")
                   for position, word in enumerate(words))
    span = Span(tokens[0].span.start, tokens[-1].span.end)
    return Turn(index, tokens, STATIONS[index % 4], None, ("Winch", "Cabin")[index % 2], at, span.end_s, None, source, span)


def row_of(turn: Turn) -> Row:
    parameter, value, unit = turn.tokens[:2], turn.tokens[2], turn.tokens[3]
    sure = "doubtful" if turn.index % 3 == 0 else "clear"
    evidence = (Part("value", f"{value.text} {unit.text}", value.segment, 2, 3, turn.source, Span(value.span.start, unit.span.end), None, value.span.start_s),
                Part("parameter", " ".join(token.text for token in parameter), value.segment, 0, 1, turn.source,
                     Span(parameter[0].span.start, parameter[1].span.end), None, parameter[0].span.start_s))
    fields = {"parameter": Field(PARAMETERS[turn.index % 4], part=1), "value": Field(Decimal(value.text), certainty=sure, part=0,  # type: ignore[arg-type]
                                                                                    why=("two readings lie close",) if sure == "doubtful" else (),
                                                                                    others=(Decimal("15.50"),) if sure == "doubtful" else ()),
              "unit": Field(UNITS[turn.index % 4], "assumed" if turn.index % 5 == 0 else "spoken"), "class": Field("measured"), "approximate": Field(False)}
    look = (f"{value.text} kN is above the limit of 44 kN",) if _beyond(turn.index) else ()
    return Row("readouts", fields, evidence, turn.loop, turn.station, turn.index, look, witnesses={"weighing margin": 2.5})


def _beyond(index: int) -> bool:
    return index % 4 == 0 and 20 + index * 7 % 30 >= 44


def check_results(rows: Sequence[Row]) -> Iterator[CheckResult]:
    for row in rows:
        if row.look:
            yield CheckResult("limits", f"rope tension: {row.look[0]}", (row.number or 0,), (row.place,), True)


def listening_of(turns: Sequence[Turn], rows: Sequence[Row]) -> list[ListeningItem]:
    """Rows with a reason to look first, then doubtful ones, then talk without a row, then the rest."""
    by_turn = {row.turn: row for row in rows}
    items = []
    for turn in turns:
        row = by_turn.get(turn.index)
        expected = 0.1 if row is None else 0.6 if row.look else 0.45 if row.certainty == "doubtful" else 0.06
        part = Part("searched and absent", turn.text, source=turn.source, span=turn.span, start_s=turn.start_s) if row is None else row.place
        why = ("talk that gave no row, poorly heard",) if row is None else row.look or (row.certainty,)
        items.append(ListeningItem(part, 2.5, expected, tuple(why), row.number if row else None))
    return sorted(items, key=lambda item: -item.expected_errors)


def write_tones(path: Path, length_s: float, size: Size) -> None:
    """A WAV of two channels, 16 bit; a tone of its own height for each of the first turns, holes elsewhere."""
    frames = round(length_s * RATE_HZ)
    data = frames * 4
    with path.open("wb") as file:
        file.write(b"RIFF" + struct.pack("<I", 36 + data) + b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 2, RATE_HZ, RATE_HZ * 4, 4, 16)
                   + b"data" + struct.pack("<I", data))
        for index in range(min(size.turns, size.sounding)):
            span = turn_of(index, size).span
            start, end = round(span.start_s * RATE_HZ), round(span.end_s * RATE_HZ)
            tone = 9000 * np.sin(np.arange(end - start) * 2 * np.pi * (300 + 40 * (index % 30)) / RATE_HZ)
            both = np.zeros((end - start, 2), "<i2")
            both[:, index % 2] = tone
            file.seek(44 + start * 4)
            file.write(both.tobytes())
        file.truncate(44 + data)


def multiply(folder: Path, times: int) -> int:
    """Copies every row of the session that often, over the same sound, one hour later each time; returns how many rows there are then.

    Quicker by far than a reading of so many turns, for tests that need many rows and not their talk.
    """
    with SessionStore.open(folder) as store, store.db.writing():
        run = store.db.run
        last = store.db.all("SELECT max(number) AS last FROM row_numbers")[0]["last"]
        run("CREATE TEMP TABLE shift (by INTEGER)")
        store.db.run_many("INSERT INTO shift VALUES (?)", [(i,) for i in range(1, times)])
        run(f"INSERT INTO row_numbers (number, kind, born_in) SELECT number + by * {last}, kind, born_in FROM row_numbers, shift")
        for table, columns in (("machine_rows", "position, kind, loop, station, certainty, look, doubt, witnesses"),
                               ("parts", 'part, role, text, segment, first_word, last_word, recording, channel, start, "end", line_index, start_s')):
            run(f"INSERT INTO {table} (pass, number, {columns}) SELECT pass, number + by * {last}, {columns} FROM {table}, shift")
        run(f"""INSERT INTO current (number, kind, loop, station, certainty, start_s, line_index, value, state, mark, edit, revision, "row")
                SELECT number + by * {last}, kind, loop, station, certainty, start_s + by * 3600, line_index, value, state, mark, edit, revision,
                json_set("row", '$.number', number + by * {last}, '$.turn', NULL, '$.evidence[0].start_s', start_s + by * 3600) FROM current, shift""")
        run(f"INSERT INTO row_words (rowid, text) SELECT row_words.rowid + by * {last}, text FROM row_words, shift")
        return store.db.all("SELECT count(*) AS n FROM current")[0]["n"]

"""A made-up archive of any size: sessions of radio talk built from the tool's own packs, with a seed, as an archive's reader hands them on.

An utterance is a frame of the lexicon with its slots filled from its terms, or a phrase or proword; about every tenth is behind a row. Lengths
follow the talk of long tests: 5 000 utterances and 500 rows a session of ten hours, so that 2 000 sessions are 20 000 hours.
"""
import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from debrief.archive.reading import PIECE, Header, Piece, TurnTaken, row_piece, turn_piece
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Recording, Source
from debrief.timebase import HEARING_RATE_HZ, RecordingClock, Span
from debrief.wording.lexicon import load_lexicon, own_packs

HOURS, TURNS, ROWS = 10, 5000, 500
STATIONS = ("Topside", "Chamber", "Lead", "Medic", "Winch", "Cabin", "Valley", "Summit", "Drive", "Gas", "Log", "Relief")
LOOPS = ("Main", "Crew", "Safety")
FIRST_DAY = datetime(1990, 3, 1, 6, tzinfo=UTC)
RARE = ("hydrazine", "delamination", "gimbal", "frostbite", "pinhole")
UNITS = {"psi": (3, 20), "kPa": (20, 130), "bar": (1, 8), "V": (20, 32), "C": (-10, 45), "m": (1, 60), "percent": (5, 99)}


class Talk:
    """Material from the packs, read once."""

    def __init__(self, seed: int) -> None:
        self.seed, lexicon = seed, load_lexicon(tuple(own_packs().values()))
        self.phrases = [term.term for term in lexicon.of_kind("prowords", "phrases", "states")]
        self.parameters = sorted({term.term for term in lexicon.of_kind("parameters")})
        self.parts = [term.term for term in lexicon.of_kind("parts")]
        self.frames = [frame.frame for frame in lexicon.frames]

    def session(self, number: int) -> tuple[Header, list[Piece]]:
        made = random.Random(f"{self.seed} {number}")
        duration = HOURS * 3600 * HEARING_RATE_HZ
        start = FIRST_DAY + timedelta(days=5 * number)
        recording = Recording("r1", f"recordings/{number:05}.wav", f"{number:064x}", duration, 8000, 3, LOOPS, RecordingClock(0, 1, start, 1.0))
        header = Header(Path(f"sessions/{number:05}/debrief.sqlite"), "", "", f"{number:064x}", f"Trial {number:05}", (recording,), 1,
                        TURNS, ROWS, ROWS, 0, '{"digests":{},"settings":{},"versions":{}}')
        turns, rows = self._talk(made, duration)
        pieces = [turn_piece(turns[first:first + PIECE]) for first in range(0, len(turns), PIECE)]
        return header, [*pieces, row_piece(rows, {"r1": 0})]

    def _talk(self, made: random.Random, duration: int) -> tuple[list[TurnTaken], list[Row]]:
        turns, rows = [], []
        for number in range(TURNS):
            start = duration * number // TURNS
            station, channel = STATIONS[min(int(made.expovariate(0.4)), 11)], made.randrange(3)
            row = number % (TURNS // ROWS) == 0
            text, fields = self._readout(made) if row else (self._words(made), {})
            end = start + HEARING_RATE_HZ * (1 + len(text) // 14)
            place = (0, channel, start, end, start * 1000 // HEARING_RATE_HZ, None)
            turns.append(TurnTaken(number, place, station, LOOPS[channel], number % 97 == 0, text, None if made.random() > 0.1 else text.replace("e", "a")))
            if row:
                rows.append(_row(len(rows) + 1, number, (station, channel, Span(start, end)), text, fields))
        return turns, rows

    def _words(self, made: random.Random) -> str:
        kind = made.random()
        if kind < 0.0005:
            return f"I see {made.choice(RARE)} at the {made.choice(self.parts)}"
        if kind < 0.002:
            return f"possible leak at the {made.choice(self.parts)}, stand by"
        if kind < 0.5:
            return f"{made.choice(STATIONS)}, {made.choice(STATIONS)}, {made.choice(self.phrases)}, {made.choice(self.phrases)}"
        return self._filled(made, made.choice(self.frames))

    def _filled(self, made: random.Random, frame: str) -> str:
        fill = {"station": made.choice(STATIONS), "parameter": made.choice(self.parameters), "subject": made.choice(self.parts),
                "value": str(made.randint(1, 400)), "unit": made.choice(list(UNITS)), "axis": "roll", "rating": str(made.randint(1, 10)), "top": "ten",
                "answer": made.choice(("go", "no go", "stand by")), "clock": "the clock", "time": f"{made.randint(1, 59)} minutes",
                "step": str(made.randint(1, 30)), "card": str(made.randint(1, 12))}
        for slot, word in fill.items():
            frame = frame.replace("{" + slot + "}", word)
        return frame

    def _readout(self, made: random.Random) -> tuple[str, dict[str, str | Decimal]]:
        if made.random() < 0.1:
            answer = made.choices(("GO", "NO-GO", "STAND BY"), (90, 6, 4))[0]
            return f"{made.choice(STATIONS)} is {answer.lower()}", {"answer": answer}
        unit = made.choice(list(UNITS))
        value = Decimal(made.randint(*(10 * end for end in UNITS[unit]))) / 10
        about = made.choice(self.parameters) if made.random() > 0.05 else "cabin pressure"
        return f"{about} is {value} {unit}", {"parameter": about, "value": value, "unit": unit}


def _row(number: int, turn: int, place: tuple[str, int, Span], text: str, fields: dict[str, str | Decimal]) -> Row:
    station, channel, span = place
    part = Part("value", text, f"r1.{channel}.{turn:06}", 0, 3, Source("r1", channel), span, None, span.start_s)
    sure = "doubtful" if number % 9 == 0 else "clear"
    return Row("polls" if "answer" in fields else "readouts", {name: Field(value, "spoken", sure, 0) for name, value in fields.items()}, (part,),
               LOOPS[channel], station, turn, number=number)


def sessions(count: int, seed: int = 7) -> Iterator[tuple[Header, list[Piece]]]:
    talk = Talk(seed)
    yield from (talk.session(number) for number in range(count))

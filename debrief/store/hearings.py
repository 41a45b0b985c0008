"""What was heard: recordings, windows done, segments with their words, and what every sample is held as."""
import json
from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import groupby
from typing import Any

from ..records.sound import Recording, Segment, Source, Stretch, Word
from ..timebase import YEARS, RecordingClock, Span
from .codec import as_we_write, dumps, finite, source_columns, source_of, span_of
from .database import Database


def id_for(db: Database, item: Recording, used: Collection[str] = ()) -> str:
    """The id under which the store knows this very sound; else the one it brings, or the next that no other sound has; none of the used.

    So that what is told of a recording stays with it when the session file lists its recordings anew.
    """
    known = {row["recording"]: row["sha256"] for row in db.all("SELECT recording, sha256 FROM recordings ORDER BY position")}
    free = [name for name, digest in known.items() if digest == item.sha256 and digest and name not in used]
    if free:
        return item.recording if item.recording in free else free[0]
    names = (item.recording, *(f"r{number}" for number in range(1, len(known) + len(used) + 2)))
    return next(name for name in names if name not in used and known.get(name, item.sha256) == item.sha256)


def save_recording(db: Database, item: Recording) -> None:
    """Adds a recording or brings it up to date; recordings keep the order in which they were first added."""
    known = db.one("SELECT position FROM recordings WHERE recording = ?", (item.recording,))
    last = db.one("SELECT count(*) FROM recordings")
    position = known["position"] if known else (last[0] if last else 0)
    clock = item.clock
    db.insert("recordings", [{
        "recording": item.recording, "position": position, "path": item.path, "sha256": item.sha256, "duration": item.duration,
        "rate_hz": item.rate_hz, "channels": item.channels, "loops": dumps(item.loops), "offset_s": float(clock.offset_s),
        "rate": float(clock.rate), "start_wall": clock.start.isoformat() if clock.start else None,
        "start_uncertainty_s": clock.start_uncertainty_s, "notes": dumps(item.notes)}], replacing=True)


@as_we_write
def recordings(db: Database) -> list[Recording]:
    """In the order in which they were first added; kept_out by the last pass that heard, and by what was erased since."""
    barred: dict[str, list[tuple[int, Span]]] = {}
    for row in db.all('SELECT recording, channel, start, "end" FROM stretches WHERE held_as = \'excluded\' AND pass = '
                      "(SELECT max(pass) FROM stretches) UNION SELECT recording, channel, start, \"end\" FROM erasures "
                      'WHERE recording IS NOT NULL ORDER BY recording, channel, start, "end"'):
        barred.setdefault(row["recording"], []).append((row["channel"], Span(row["start"], row["end"])))
    return [replace(_recording(row), kept_out=tuple(barred.get(row["recording"], ())))
            for row in db.all("SELECT * FROM recordings ORDER BY position")]


def _recording(row: Any) -> Recording:
    start = datetime.fromisoformat(row["start_wall"]) if row["start_wall"] else None
    if not 0.01 <= row["rate"] <= 100 or start is not None and start.year not in YEARS:
        raise ValueError(f"a clock that runs at {row['rate']} from {start}")
    clock = RecordingClock(finite(row["offset_s"]) or 0.0, finite(row["rate"]) or 1.0, start, finite(row["start_uncertainty_s"]))
    return Recording(row["recording"], row["path"], row["sha256"], row["duration"], row["rate_hz"], row["channels"],
                     tuple(json.loads(row["loops"])), clock, tuple(json.loads(row["notes"])))


def window_done(db: Database, pass_number: int, source: Source, index: int) -> bool:
    return db.one("SELECT 1 FROM windows WHERE pass = ? AND recording = ? AND channel = ? AND idx = ?",
                  (pass_number, source.recording, source.channel, index)) is not None


def save_window(db: Database, key: tuple[int, Source, int], segments: Sequence[Segment], stretches: Sequence[Stretch]) -> None:
    """A window's segments and stretches, and the note that it is done, in one transaction; saved again, it is replaced."""
    pass_number, source, index = key
    place = (pass_number, source.recording, source.channel, index)
    with db.writing():
        for table in ("segments", "stretches", "windows"):
            db.run(f"DELETE FROM {table} WHERE pass = ? AND recording = ? AND channel = ? AND idx = ?", place)
        db.insert("segments", [_segment_columns(pass_number, source, index, segment) for segment in segments])
        db.insert("words", [_word_columns(pass_number, segment.segment, position, word)
                            for segment in segments for position, word in enumerate(segment.words)])
        db.insert("stretches", [{"pass": pass_number, **source_columns(item.source, item.span), "idx": index,
                                 "held_as": item.held_as, "why": item.why} for item in stretches])
        db.run("INSERT INTO windows VALUES (?, ?, ?, ?)", place)


def _segment_columns(pass_number: int, source: Source, index: int, item: Segment) -> dict[str, Any]:
    return {"pass": pass_number, "segment": item.segment, **source_columns(item.source or source, item.span), "idx": index,
            "loop": item.loop, "speaker": item.speaker, "line_index": item.line_index,
            "mean_log_probability": item.mean_log_probability, "no_speech_probability": item.no_speech_probability,
            "compression_ratio": item.compression_ratio, "voice": item.voice, "set_aside": item.set_aside}


def _word_columns(pass_number: int, segment: str, position: int, word: Word) -> dict[str, Any]:
    return {"pass": pass_number, "segment": segment, "word": position, "text": word.text,
            "start": word.span.start if word.span else None, "end": word.span.end if word.span else None,
            "probability": word.probability}


@as_we_write
def segments(db: Database, pass_number: int) -> list[Segment]:
    """All segments of a pass, by source, window and id."""
    words: dict[str, list[Word]] = {}
    for row in db.all("SELECT * FROM words WHERE pass = ? ORDER BY segment, word", (pass_number,)):
        words.setdefault(row["segment"], []).append(Word(row["text"], span_of(row), row["probability"]))
    found = db.all("SELECT * FROM segments WHERE pass = ? ORDER BY recording, channel, idx, segment", (pass_number,))
    return [_segment(row, tuple(words.get(row["segment"], ()))) for row in found]


def _segment(row: Any, words: tuple[Word, ...]) -> Segment:
    return Segment(row["segment"], words, source_of(row), span_of(row), row["loop"], row["speaker"], row["line_index"],
                   row["mean_log_probability"], row["no_speech_probability"], row["compression_ratio"], row["voice"],
                   row["set_aside"])


@as_we_write
def stretches(db: Database, pass_number: int) -> list[Stretch]:
    """What every sample is held as, by source and start."""
    found = db.all('SELECT * FROM stretches WHERE pass = ? ORDER BY recording, channel, start, "end"', (pass_number,))
    return [Stretch(Source(row["recording"], row["channel"]), Span(row["start"], row["end"]), row["held_as"], row["why"])
            for row in found]


def unaccounted(db: Database, pass_number: int) -> list[tuple[Source, Span]]:
    """Samples of the recordings' channels that no stretch holds, as spans; empty when nothing vanished."""
    held = {source: list(group) for source, group in groupby(stretches(db, pass_number), key=lambda item: item.source)}
    missing = []
    for item in recordings(db):
        for channel in range(item.channels):
            source = Source(item.recording, channel)
            missing += [(source, gap) for gap in _gaps([s.span for s in held.get(source, ())], item.duration)]
    return missing


def _gaps(spans: Sequence[Span], duration: int) -> list[Span]:
    at, gaps = 0, []
    for span in spans:
        if span.start > at:
            gaps.append(Span(at, span.start))
        at = max(at, span.end)
    return [*gaps, Span(at, duration)] if at < duration else gaps

"""Erasing for good: from every pass, from edits, from the index, from free pages and the write-ahead log.

A record stays that something was erased: when, by whom, why, which span or row number, never what was said. A row goes when any piece
of its evidence lies in an erased span; words there become '[erased]', so that the words around them keep their places. Erasing a row
alone leaves the talk it came from. Files written earlier (tables, sheet, captions) must be written anew.
"""
import json
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime

from ..errors import InputError
from ..records.rows import Part, Row
from ..records.sound import Source
from ..timebase import Span
from . import search
from .codec import part_in, row_in
from .database import Database

ERASED = "[erased]"
Place = tuple[Source, Span]


def erase(db: Database, who: str, why: str, places: Sequence[Place] = (), numbers: Sequence[int] = ()) -> list[int]:
    """Erases spans and rows; returns the numbers of all rows that went. Raises InputError when nobody is named."""
    if not who.strip():
        raise InputError("nobody is named for erasing", todo="give your name, so that others know who decided")
    with db.writing():
        gone = sorted({*numbers, *_rows_in(db, places)})
        for number in gone:
            _erase_row(db, number)
        for place in places:
            _erase_words(db, place)
        _erase_findings(db, set(gone), places)
        _record(db, (who.strip(), why), places, gone)
        accepted = db.one("SELECT pass FROM passes WHERE accepted = 1")
        search.reindex(db, accepted["pass"] if accepted else None)
    _clean(db)
    return gone


def _clean(db: Database) -> None:
    """Rewrites the file without its free pages and empties the write-ahead log."""
    db.all("VACUUM")
    db.all("PRAGMA wal_checkpoint(TRUNCATE)")


def _within(part: Part, places: Iterable[Place]) -> bool:
    """Was the part said in one of these places? What was searched there and is absent was not."""
    return part.role != "searched and absent" and _touches(part, places)


def _touches(part: Part, places: Iterable[Place]) -> bool:
    return part.source is not None and part.span is not None and any(part.source == source and part.span.overlap(span)
                                                                      for source, span in places)


def _rows_in(db: Database, places: Sequence[Place]) -> set[int]:
    found = set()
    for source, span in places:
        found |= {item["number"] for item in db.all(
            "SELECT DISTINCT number FROM parts WHERE recording = ? AND channel = ? AND start < ? AND \"end\" > ? "
            "AND role <> 'searched and absent'", (source.recording, source.channel, span.end, span.start))}
    texts = [(item["number"], item["text"]) for item in db.all(
        "SELECT number, \"row\" AS text FROM current UNION ALL SELECT number, saw FROM edits WHERE saw IS NOT NULL "
        "UNION ALL SELECT number, became FROM edits WHERE became IS NOT NULL")]
    kept: list[tuple[int, Row]] = [(number, row_in(text)) for number, text in texts]
    return found | {number for number, row in kept if any(_within(part, places) for part in row.evidence)}


def _erase_row(db: Database, number: int) -> None:
    for table in ("current", "edits", "machine_rows", "fields", "parts"):
        db.run(f"DELETE FROM {table} WHERE number = ?", (number,))
    db.run("DELETE FROM row_words WHERE rowid = ?", (number,))
    db.run("UPDATE row_numbers SET erased = 1 WHERE number = ?", (number,))


def _erase_words(db: Database, place: Place) -> None:
    source, span = place
    inside = (source.recording, source.channel, span.end, span.start)
    owners = 'SELECT pass, segment FROM segments WHERE recording = ? AND channel = ? AND start < ? AND "end" > ?'
    heard_in = "(SELECT heard_in FROM passes WHERE passes.pass = tokens.pass)"  # a pass may read what another one heard
    for table, heard, columns in (("words", "pass", "text = ?"), ("tokens", heard_in, "text = ?, heard = ?, why = ''")):
        marks = (ERASED,) * columns.count("?")
        hit = f'({heard}, segment) IN ({owners}) AND (start IS NULL OR (start < ? AND "end" > ?))'
        db.run(f"UPDATE {table} SET {columns}, probability = NULL WHERE {hit}", (*marks, *inside, span.end, span.start))
    db.run('DELETE FROM questions WHERE recording = ? AND channel = ? AND start < ? AND "end" > ?', inside)


def _erase_findings(db: Database, gone: set[int], places: Sequence[Place]) -> None:
    """Sentences of checks and places to hear may quote what was said: those about erased rows or sound go too.

    A place to hear quotes a whole turn and plays only a stretch of it, so whatever touches the same turn goes.
    """
    places = [*places, *_turns_in(db, places)]
    for item in db.all("SELECT pass, position, \"rows\", look FROM check_results"):
        parts = [part_in(json.loads(text)) for text in json.loads(item["look"])]
        if gone & set(json.loads(item["rows"])) or any(_touches(part, places) for part in parts):
            db.run("DELETE FROM check_results WHERE pass = ? AND position = ?", (item["pass"], item["position"]))
    for item in db.all("SELECT pass, position, part, number FROM listening"):
        if item["number"] in gone or _touches(part_in(json.loads(item["part"])), places):
            db.run("DELETE FROM listening WHERE pass = ? AND position = ?", (item["pass"], item["position"]))


def _turns_in(db: Database, places: Sequence[Place]) -> list[Place]:
    """Where the turns lie that have words in one of the places, in any pass."""
    found = []
    for source, span in places:
        found += [(source, Span(item["start"], item["end"])) for item in db.all(
            'SELECT DISTINCT start, "end" FROM turns WHERE recording = ? AND channel = ? AND start < ? AND "end" > ?',
            (source.recording, source.channel, span.end, span.start))]
    return found


def _record(db: Database, by: tuple[str, str], places: Sequence[Place], gone: Sequence[int]) -> None:
    at = datetime.now(UTC).isoformat(timespec="seconds")
    kept = {"at_utc": at, "who": by[0], "why": by[1]}
    empty = {"recording": None, "channel": None, "start": None, "end": None, "number": None}
    db.insert("erasures", [{**kept, **empty, "recording": source.recording, "channel": source.channel, "start": span.start,
                            "end": span.end} for source, span in places])
    db.insert("erasures", [{**kept, **empty, "number": number} for number in gone])
    count = db.one("SELECT max(erasure) AS last FROM erasures")
    db.run("INSERT OR REPLACE INTO meta VALUES ('last edit', ?)", (f"erasure {count['last'] if count else 0}",))


def kept_of_excluded(db: Database) -> list[Place]:
    """Sound that the pass that stands excludes, and whose words a pass before it still holds."""
    found = db.all(
        'SELECT DISTINCT x.recording, x.channel, x.start, x."end" FROM stretches AS x JOIN passes AS p ON p.accepted = 1 AND x.pass = p.heard_in '
        "WHERE x.held_as = 'excluded' AND EXISTS (SELECT 1 FROM segments AS s JOIN words AS w ON w.pass = s.pass AND w.segment = s.segment "
        "WHERE s.recording = x.recording AND s.channel = x.channel AND s.pass <> p.heard_in AND w.text <> ? "
        'AND w.start < x."end" AND w."end" > x.start)', (ERASED,))
    return [(Source(item["recording"], item["channel"]), Span(item["start"], item["end"])) for item in found]


def erased_places(db: Database) -> list[Place]:
    """Spans that a later pass must not hear again."""
    return [(Source(item["recording"], item["channel"]), Span(item["start"], item["end"]))
            for item in db.all("SELECT * FROM erasures WHERE recording IS NOT NULL ORDER BY erasure")]

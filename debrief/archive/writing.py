"""One session into the archive, or out of it, in one transaction: all of it or nothing."""
import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from ..wording.soundalike import pronounce, skeleton
from .reading import Header, Piece, RowTaken, TurnTaken, header_digest, now_utc, start_utc, utc_range
from .shape import Archive

_TURN = "INSERT INTO turns VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
_ROW = "INSERT INTO rows VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"


@dataclass(frozen=True, slots=True)
class Known:
    """A session that the archive holds."""

    session: int
    same: str
    contents: str
    path: str
    stamp: str
    erasures: int


@dataclass
class Writer:
    """Holds the ids of names, labels and words that it met, so that each is looked up once."""

    archive: Archive
    names: dict[str, int] = field(default_factory=dict)
    labels: dict[tuple[str, str], int] = field(default_factory=dict)
    words: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.forget()

    def forget(self) -> None:
        """After a transaction that was taken back: what was met in it may not be in the file."""
        self.names = {item["text"]: item["name"] for item in self.archive.all("SELECT * FROM names")}
        self.labels = {(item["name"], item["text"]): item["label"] for item in self.archive.all("SELECT * FROM labels")}
        self.words = {item["word"] for item in self.archive.all("SELECT word FROM vocabulary")}

    def name(self, text: str | None) -> int | None:
        if text is None:
            return None
        if text not in self.names:
            self.names[text] = self.archive.run("INSERT INTO names (text) VALUES (?)", (text,))
        return self.names[text]

    def label(self, key: tuple[str, str]) -> int:
        if key not in self.labels:
            self.labels[key] = self.archive.run("INSERT INTO labels (name, text) VALUES (?, ?)", key)
        return self.labels[key]

    def learn(self, words: Iterable[str]) -> None:
        """New words, filed under the shape of their sound."""
        new = sorted(set(words) - self.words)
        self.archive.run_many("INSERT OR IGNORE INTO vocabulary VALUES (?, ?)", [(word, shape_of(word)) for word in new])
        self.words.update(new)


def shape_of(word: str) -> str:
    said = pronounce(word)
    return skeleton(said[0]) if said else ""


class Entry:
    """A session on its way in: begun, given piece after piece, and ended; inside a transaction of the archive."""

    def __init__(self, writer: Writer, header: Header) -> None:
        self.writer, self.header, self.archive = writer, header, writer.archive
        self.session = _next(self.archive, "session")
        self.first_turn, self.first_row = _next(self.archive, "turn"), _next(self.archive, "row")
        self.end_turn, self.end_row = self.first_turn, self.first_row
        self._digest = hashlib.sha256(header_digest(header).encode())

    @property
    def contents(self) -> str:
        return self._digest.hexdigest()

    def take(self, piece: Piece) -> None:
        self._digest.update(piece.digest.encode())
        self.writer.learn(piece.words)
        if piece.turns:
            self._take_turns(piece.turns)
        if piece.rows:
            self._take_rows(piece.rows)

    def _take_turns(self, turns: Sequence[TurnTaken]) -> None:
        first, name = self.end_turn, self.writer.name
        self.archive.run_many(_TURN, [
            (first + i, self.session, item.turn, *item.place, name(item.station), name(item.loop), int(item.aside), item.text, item.heard)
            for i, item in enumerate(turns)])
        self.end_turn += len(turns)
        self.archive.run("INSERT INTO turn_words (rowid, text, heard, tags) SELECT * FROM turn_text WHERE id >= ? AND id < ?", (first, self.end_turn))

    def _take_rows(self, rows: Sequence[RowTaken]) -> None:
        first = self.end_row
        self.archive.run_many(_ROW, [self._row_columns(first + i, item) for i, item in enumerate(rows)])
        self.archive.run_many("INSERT INTO bodies VALUES (?, ?, ?)", [(first + i, item.words, item.body) for i, item in enumerate(rows)])
        self.archive.run_many("INSERT OR IGNORE INTO row_labels VALUES (?, ?)", [
            (self.writer.label(key), first + i) for i, item in enumerate(rows) for key in item.labels])
        self.end_row += len(rows)
        self.archive.run("INSERT INTO row_words (rowid, words, tags) SELECT * FROM row_text WHERE id >= ? AND id < ?", (first, self.end_row))

    def _row_columns(self, number: int, item: RowTaken) -> tuple[Any, ...]:
        name, value = self.writer.name, item.value
        about = self.writer.label(("about", item.about)) if item.about else None
        measure = (None, None, None) if value is None else (name(value[0]), value[1], value[2])
        return (number, self.session, item.number, name(item.kind), item.turn, *item.place, name(item.station), name(item.loop),
                item.certainty, about, int(item.measured), *measure)

    def end(self) -> None:
        """The session's own line; from now on it is in the archive."""
        header, archive = self.header, self.archive
        archive.insert("sessions", [{
            "session": self.session, "same": header.same or self.contents, "contents": self.contents, "title": header.title,
            "path": str(header.path.resolve()), "added_utc": now_utc(), "stamp": header.stamp, "first_turn": self.first_turn,
            "end_turn": self.end_turn, "first_row": self.first_row, "end_row": self.end_row,
            **dict(zip(("utc_from", "utc_to"), utc_range(header.recordings), strict=True)),
            "duration_s": max((item.clock.to_session_s(item.duration / 16_000) for item in header.recordings), default=0.0),
            "erasures": header.erasures, "provenance": header.provenance}])
        archive.insert("recordings", [{
            "session": self.session, "position": position, "recording": item.recording, "path": item.path, "sha256": item.sha256,
            "duration": item.duration, "channels": item.channels, "offset_s": float(item.clock.offset_s), "rate": float(item.clock.rate),
            "start_utc": start_utc(item), "start_uncertainty_s": item.clock.start_uncertainty_s}
            for position, item in enumerate(header.recordings)])
        for what, end in (("session", self.session + 1), ("turn", self.end_turn), ("row", self.end_row)):
            archive.run("INSERT OR REPLACE INTO meta VALUES (?, ?)", (f"next {what}", str(end)))


def _next(archive: Archive, what: str) -> int:
    found = archive.one("SELECT value FROM meta WHERE key = ?", (f"next {what}",))
    return int(found["value"]) if found else 1


def known(archive: Archive, *, path: str = "", same: str = "", contents: str = "") -> Known | None:
    """The first session that comes from this store, is a reading of the same recordings, or holds the same; '' asks for nothing."""
    found = archive.one("SELECT session, same, contents, path, stamp, erasures FROM sessions WHERE path = ? OR same = ? OR contents = ? "
                        "ORDER BY session LIMIT 1", (path, same, contents))
    return None if found is None else Known(*found)


def take_out(archive: Archive, session: int) -> None:
    """Inside a transaction: a session's turns, rows and words leave the archive. What was theirs may stay in free pages: see clean()."""
    found = archive.one("SELECT * FROM sessions WHERE session = ?", (session,))
    if found is None:
        return
    turns, rows = (found["first_turn"], found["end_turn"]), (found["first_row"], found["end_row"])
    archive.run("INSERT INTO turn_words (turn_words, rowid, text, heard, tags) SELECT 'delete', * FROM turn_text WHERE id >= ? AND id < ?", turns)
    archive.run("INSERT INTO row_words (row_words, rowid, words, tags) SELECT 'delete', * FROM row_text WHERE id >= ? AND id < ?", rows)
    archive.run("DELETE FROM turns WHERE id >= ? AND id < ?", turns)
    archive.run("DELETE FROM row_labels WHERE label IN (SELECT label FROM labels) AND id >= ? AND id < ?", rows)
    for table in ("rows", "bodies"):
        archive.run(f"DELETE FROM {table} WHERE id >= ? AND id < ?", rows)
    archive.run("DELETE FROM sessions WHERE session = ?", (session,))


def clean(archive: Archive) -> None:
    """Nothing of what was taken out is left: the word index is written anew without it, words and names nobody says any more go, and the
    file is rewritten without free pages. Needs room for a second copy of the file for a while."""
    with archive.writing():
        archive.run("INSERT INTO turn_words (turn_words) VALUES ('optimize')")
        archive.run("INSERT INTO row_words (row_words) VALUES ('optimize')")
        archive.run("DELETE FROM vocabulary WHERE word NOT IN (SELECT term FROM turn_terms)")
        archive.run("DELETE FROM labels WHERE label NOT IN (SELECT label FROM row_labels UNION SELECT about FROM rows WHERE about IS NOT NULL)")
        archive.run(f"DELETE FROM names WHERE name NOT IN ({_NAMED})")
    archive.all("VACUUM")
    archive.all("PRAGMA wal_checkpoint(TRUNCATE)")


_NAMED = " UNION ".join(f"SELECT {column} FROM {table} WHERE {column} IS NOT NULL" for table, columns in (
    ("turns", "station loop"), ("rows", "station loop kind dimension")) for column in columns.split())


def tidy(archive: Archive) -> None:
    """After many sessions came in: the word indexes are merged into one piece each, which makes searching quicker."""
    with archive.writing():
        archive.run("INSERT INTO turn_words (turn_words) VALUES ('optimize')")
        archive.run("INSERT INTO row_words (row_words) VALUES ('optimize')")
        archive.run("ANALYZE")
    archive.all("PRAGMA wal_checkpoint(TRUNCATE)")

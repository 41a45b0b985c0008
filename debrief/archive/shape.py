"""The file of an archive: its tables, how it is opened, and what is refused.

Conventions: a session's turns and rows have consecutive ids, so that a session is a range of ids and a place inside one is found
without an index; spans are samples at 16 kHz on the recording's own clock; `start_ms` is session time; values stand twice, as said in the
row's body and in SI in `low` and `high`. Words are indexed by FTS5 over the views `turn_text` and `row_text`: no text is held twice.
`tags` are tokens of our own ('s12' a station, 'l3' a loop, 'k5' a kind, 'aside' a turn set aside), so that the full-text
index itself joins words with who said them.
"""
from pathlib import Path
from typing import Self

from ..errors import StoreError
from ..store.database import FILE_ENDINGS, Database, Sort, make_folder, reading_mode

FILE_NAME = "archive.sqlite"
CACHE_KIB = 65_536
"""Pages held in memory by a connection."""

_TABLES = """
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
CREATE TABLE names (name INTEGER PRIMARY KEY, text TEXT NOT NULL UNIQUE) STRICT;
CREATE TABLE sessions (
  session INTEGER PRIMARY KEY, same TEXT NOT NULL UNIQUE, contents TEXT NOT NULL, title TEXT NOT NULL, path TEXT NOT NULL,
  added_utc TEXT NOT NULL, stamp TEXT NOT NULL, first_turn INTEGER NOT NULL, end_turn INTEGER NOT NULL, first_row INTEGER NOT NULL,
  end_row INTEGER NOT NULL, utc_from REAL, utc_to REAL, duration_s REAL NOT NULL, erasures INTEGER NOT NULL,
  provenance TEXT NOT NULL) STRICT;
CREATE INDEX sessions_by_path ON sessions (path);
CREATE INDEX sessions_by_contents ON sessions (contents);
CREATE INDEX sessions_in_time ON sessions (utc_from IS NULL, utc_from, session, first_turn, end_turn, first_row, end_row, utc_to);
CREATE TABLE recordings (
  session INTEGER NOT NULL REFERENCES sessions (session) ON DELETE CASCADE, position INTEGER NOT NULL, recording TEXT NOT NULL,
  path TEXT NOT NULL, sha256 TEXT NOT NULL, duration INTEGER NOT NULL, channels INTEGER NOT NULL, offset_s REAL NOT NULL,
  rate REAL NOT NULL, start_utc REAL, start_uncertainty_s REAL, PRIMARY KEY (session, position)) STRICT;
CREATE TABLE turns (
  id INTEGER PRIMARY KEY, session INTEGER NOT NULL, turn INTEGER NOT NULL, recording INTEGER, channel INTEGER, start INTEGER,
  "end" INTEGER, start_ms INTEGER, line_index INTEGER, station INTEGER, loop INTEGER, aside INTEGER NOT NULL, text TEXT NOT NULL,
  heard TEXT) STRICT;
CREATE TABLE labels (label INTEGER PRIMARY KEY, name TEXT NOT NULL, text TEXT NOT NULL, UNIQUE (name, text)) STRICT;
CREATE TABLE rows (
  id INTEGER PRIMARY KEY, session INTEGER NOT NULL, number INTEGER NOT NULL, kind INTEGER NOT NULL, turn INTEGER, recording INTEGER,
  channel INTEGER, start INTEGER, "end" INTEGER, start_ms INTEGER, line_index INTEGER, station INTEGER, loop INTEGER,
  certainty INTEGER NOT NULL, about INTEGER, measured INTEGER NOT NULL, dimension INTEGER, low REAL, high REAL) STRICT;
CREATE INDEX rows_by_value ON rows (about, dimension, low, high, measured, certainty, kind) WHERE about IS NOT NULL;
CREATE INDEX rows_by_dimension ON rows (dimension, low, high, measured, certainty, kind) WHERE low IS NOT NULL;
CREATE INDEX rows_by_kind ON rows (kind, certainty);
CREATE TABLE row_labels (label INTEGER NOT NULL, id INTEGER NOT NULL, PRIMARY KEY (label, id)) STRICT, WITHOUT ROWID;
CREATE TABLE bodies (id INTEGER PRIMARY KEY, words TEXT NOT NULL, body BLOB NOT NULL) STRICT;
CREATE VIEW turn_text AS SELECT id, text, heard, coalesce('s' || station || ' ', '') || coalesce('l' || loop || ' ', '') ||
  iif(aside, 'aside', '') AS tags FROM turns;
CREATE VIEW row_text AS SELECT id, words, coalesce('s' || station || ' ', '') || coalesce('l' || loop || ' ', '') || 'k' || kind AS tags
  FROM rows JOIN bodies USING (id);
CREATE VIRTUAL TABLE turn_words USING fts5 (text, heard, tags, content = 'turn_text', content_rowid = 'id',
  tokenize = "unicode61 remove_diacritics 2");
CREATE VIRTUAL TABLE row_words USING fts5 (words, tags, content = 'row_text', content_rowid = 'id',
  tokenize = "unicode61 remove_diacritics 2");
CREATE VIRTUAL TABLE turn_terms USING fts5vocab ('turn_words', 'row');
CREATE TABLE vocabulary (word TEXT PRIMARY KEY, shape TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE INDEX vocabulary_by_shape ON vocabulary (shape);
"""


def archive_file(path: Path) -> Path:
    """The archive's file for a path that is the file itself or the folder that holds it (or will hold it)."""
    return path if path.is_file() or path.suffix in FILE_ENDINGS else path / FILE_NAME


class Archive(Database):
    """A connection to an archive."""

    sort = Sort(0x64627261, (_TABLES,), "archive", "an archive", "give the folder or file that `debrief archive add` made")

    @classmethod
    def create(cls, path: Path) -> Self:
        """Opens the archive, making file and folder if there are none. Raises StoreError."""
        file = archive_file(path)
        make_folder(file.parent)
        return cls._ready(file, "rwc")

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Self:
        """Opens an archive that exists. Raises StoreError."""
        file = archive_file(path)
        if not file.is_file():
            raise StoreError("no archive here", str(file), "make one with `debrief archive add ARCHIVE SESSION...`")
        return cls._ready(file, reading_mode(file) if read_only else "rw")

    def _prepare(self, mode: str) -> None:
        super()._prepare(mode)
        self.connection.execute(f"PRAGMA cache_size = -{CACHE_KIB}")
        self.connection.execute("PRAGMA temp_store = FILE")
        if mode.startswith("ro"):
            self.connection.execute("PRAGMA mmap_size = 4294967296")
            return
        self.connection.execute("PRAGMA secure_delete = OFF")  # merging the word index frees pages all the time; see writing.clean()
        self.connection.execute("PRAGMA wal_autocheckpoint = 4000")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

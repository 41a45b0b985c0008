"""The tables of a session store and how an older file becomes a newer one.

Conventions: STRICT tables, so a word put into a seconds column is refused; spans are samples at 16 kHz on the recording's own
clock (`start`, `end`); `start_s` is session seconds; lists and maps are JSON text; flags are 0 or 1. A file is a store when its
application id says so; `user_version` is the schema's version. Each migration and the note that it ran share one transaction.
"""
APPLICATION_ID = 0x64627266

_CERTAINTY = "CHECK (certainty IN ('heard by a person', 'repeated', 'clear', 'doubtful'))"

_FIRST = f"""
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
CREATE TABLE recordings (
  recording TEXT PRIMARY KEY, position INTEGER NOT NULL, path TEXT NOT NULL, sha256 TEXT NOT NULL,
  duration INTEGER NOT NULL CHECK (duration >= 0), rate_hz INTEGER NOT NULL, channels INTEGER NOT NULL, loops TEXT NOT NULL,
  offset_s REAL NOT NULL, rate REAL NOT NULL, start_wall TEXT, start_uncertainty_s REAL, notes TEXT NOT NULL) STRICT;
CREATE TABLE passes (
  pass INTEGER PRIMARY KEY, started_utc TEXT NOT NULL, finished_utc TEXT, settings TEXT NOT NULL, versions TEXT NOT NULL,
  digests TEXT NOT NULL, heard_in INTEGER NOT NULL, accepted INTEGER NOT NULL DEFAULT 0) STRICT;
CREATE TABLE windows (
  pass INTEGER NOT NULL, recording TEXT NOT NULL, channel INTEGER NOT NULL, idx INTEGER NOT NULL,
  PRIMARY KEY (pass, recording, channel, idx)) STRICT, WITHOUT ROWID;
CREATE TABLE segments (
  pass INTEGER NOT NULL, segment TEXT NOT NULL, recording TEXT, channel INTEGER, idx INTEGER, start INTEGER, "end" INTEGER,
  loop TEXT, speaker TEXT, line_index INTEGER, mean_log_probability REAL, no_speech_probability REAL, compression_ratio REAL,
  voice TEXT, set_aside TEXT NOT NULL, PRIMARY KEY (pass, segment)) STRICT;
CREATE INDEX segments_by_window ON segments (pass, recording, channel, idx);
CREATE TABLE words (
  pass INTEGER NOT NULL, segment TEXT NOT NULL, word INTEGER NOT NULL, text TEXT NOT NULL, start INTEGER, "end" INTEGER,
  probability REAL, PRIMARY KEY (pass, segment, word),
  FOREIGN KEY (pass, segment) REFERENCES segments (pass, segment) ON DELETE CASCADE) STRICT, WITHOUT ROWID;
CREATE TABLE stretches (
  pass INTEGER NOT NULL, recording TEXT NOT NULL, channel INTEGER NOT NULL, idx INTEGER, start INTEGER NOT NULL,
  "end" INTEGER NOT NULL, held_as TEXT NOT NULL CHECK (held_as IN ('speech', 'no speech detected', 'unreadable', 'excluded')),
  why TEXT NOT NULL, CHECK (0 <= start AND start <= "end")) STRICT;
CREATE INDEX stretches_by_place ON stretches (pass, recording, channel, start);
CREATE TABLE turns (
  pass INTEGER NOT NULL, turn INTEGER NOT NULL, station TEXT, addressee TEXT, loop TEXT, start_s REAL, end_s REAL,
  line_index INTEGER, recording TEXT, channel INTEGER, start INTEGER, "end" INTEGER, commentary INTEGER NOT NULL,
  attribution TEXT NOT NULL, PRIMARY KEY (pass, turn)) STRICT;
CREATE TABLE tokens (
  pass INTEGER NOT NULL, turn INTEGER NOT NULL, position INTEGER NOT NULL, text TEXT NOT NULL, heard TEXT NOT NULL,
  segment TEXT NOT NULL, word INTEGER NOT NULL, start INTEGER, "end" INTEGER, probability REAL, why TEXT NOT NULL,
  PRIMARY KEY (pass, turn, position),
  FOREIGN KEY (pass, turn) REFERENCES turns (pass, turn) ON DELETE CASCADE) STRICT, WITHOUT ROWID;
CREATE TABLE questions (
  pass INTEGER NOT NULL, position INTEGER NOT NULL, question TEXT NOT NULL, recording TEXT NOT NULL, channel INTEGER NOT NULL,
  start INTEGER NOT NULL, "end" INTEGER NOT NULL, kind TEXT NOT NULL, candidates TEXT NOT NULL, "values" TEXT NOT NULL,
  heard TEXT NOT NULL, asked_by TEXT NOT NULL, PRIMARY KEY (pass, question)) STRICT;
CREATE TABLE answers (
  pass INTEGER NOT NULL, question TEXT NOT NULL, scores TEXT NOT NULL, free REAL, best INTEGER, margin REAL,
  PRIMARY KEY (pass, question),
  FOREIGN KEY (pass, question) REFERENCES questions (pass, question) ON DELETE CASCADE) STRICT;
CREATE TABLE row_numbers (
  number INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, born_in INTEGER, erased INTEGER NOT NULL DEFAULT 0) STRICT;
CREATE TABLE machine_rows (
  pass INTEGER NOT NULL, number INTEGER NOT NULL REFERENCES row_numbers (number), position INTEGER NOT NULL,
  kind TEXT NOT NULL, loop TEXT, station TEXT, turn INTEGER, certainty TEXT NOT NULL {_CERTAINTY},
  look TEXT NOT NULL, doubt TEXT NOT NULL, witnesses TEXT NOT NULL, PRIMARY KEY (pass, number)) STRICT;
CREATE TABLE fields (
  pass INTEGER NOT NULL, number INTEGER NOT NULL, position INTEGER NOT NULL, name TEXT NOT NULL, value TEXT NOT NULL,
  origin TEXT NOT NULL CHECK (origin IN ('spoken', 'carried', 'plan', 'assumed', 'person')),
  certainty TEXT NOT NULL {_CERTAINTY}, part INTEGER, why TEXT NOT NULL, others TEXT NOT NULL,
  PRIMARY KEY (pass, number, position),
  FOREIGN KEY (pass, number) REFERENCES machine_rows (pass, number) ON DELETE CASCADE) STRICT, WITHOUT ROWID;
CREATE TABLE parts (
  pass INTEGER NOT NULL, number INTEGER NOT NULL, part INTEGER NOT NULL, role TEXT NOT NULL, text TEXT NOT NULL,
  segment TEXT, first_word INTEGER, last_word INTEGER, recording TEXT, channel INTEGER, start INTEGER, "end" INTEGER,
  line_index INTEGER, start_s REAL, PRIMARY KEY (pass, number, part),
  FOREIGN KEY (pass, number) REFERENCES machine_rows (pass, number) ON DELETE CASCADE) STRICT, WITHOUT ROWID;
CREATE TABLE edits (
  edit INTEGER PRIMARY KEY AUTOINCREMENT, deed INTEGER NOT NULL, number INTEGER NOT NULL REFERENCES row_numbers (number),
  pass INTEGER,
  action TEXT NOT NULL CHECK (action IN ('change', 'accept', 'reject', 'restore', 'add', 'split', 'merge')),
  who TEXT NOT NULL CHECK (who <> ''), at_utc TEXT NOT NULL, saw TEXT, became TEXT, note TEXT NOT NULL,
  undone_utc TEXT, undone_by TEXT) STRICT;
CREATE INDEX edits_by_row ON edits (number, edit);
CREATE INDEX edits_by_deed ON edits (deed);
CREATE TABLE current (
  number INTEGER PRIMARY KEY REFERENCES row_numbers (number), kind TEXT NOT NULL, loop TEXT, station TEXT,
  certainty TEXT NOT NULL {_CERTAINTY}, start_s REAL, line_index INTEGER, value REAL,
  state TEXT NOT NULL CHECK (state IN ('standing', 'rejected')),
  mark TEXT NOT NULL CHECK (mark IN ('', 'carried', 'changed since you looked', 'stands alone')),
  edit INTEGER, revision INTEGER NOT NULL, "row" TEXT NOT NULL) STRICT;
CREATE INDEX current_by_time ON current (state, start_s, line_index, number);
CREATE INDEX current_by_kind ON current (kind, state, start_s, number);
CREATE TABLE check_results (
  pass INTEGER NOT NULL, position INTEGER NOT NULL, name TEXT NOT NULL, says TEXT NOT NULL, "rows" TEXT NOT NULL,
  look TEXT NOT NULL, serious INTEGER NOT NULL, PRIMARY KEY (pass, position)) STRICT;
CREATE TABLE listening (
  pass INTEGER NOT NULL, position INTEGER NOT NULL, part TEXT NOT NULL, seconds REAL NOT NULL, expected_errors REAL NOT NULL,
  why TEXT NOT NULL, number INTEGER, PRIMARY KEY (pass, position)) STRICT;
CREATE TABLE erasures (
  erasure INTEGER PRIMARY KEY AUTOINCREMENT, at_utc TEXT NOT NULL, who TEXT NOT NULL, why TEXT NOT NULL, recording TEXT,
  channel INTEGER, start INTEGER, "end" INTEGER, number INTEGER) STRICT;
"""

_TURNS_SET_ASIDE_AND_SEARCH = """
ALTER TABLE turns ADD COLUMN answers INTEGER;
ALTER TABLE turns ADD COLUMN set_aside TEXT NOT NULL DEFAULT '';
CREATE VIRTUAL TABLE row_words USING fts5 (text, tokenize = "unicode61 remove_diacritics 2");
CREATE VIRTUAL TABLE turn_words USING fts5 (text, tokenize = "unicode61 remove_diacritics 2");
"""

MIGRATIONS: tuple[str, ...] = (_FIRST, _TURNS_SET_ASIDE_AND_SEARCH)
VERSION = len(MIGRATIONS)

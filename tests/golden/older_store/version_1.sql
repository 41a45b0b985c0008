PRAGMA application_id = 1684173414;
PRAGMA user_version = 1;
BEGIN TRANSACTION;
CREATE TABLE answers (
  pass INTEGER NOT NULL, question TEXT NOT NULL, scores TEXT NOT NULL, free REAL, best INTEGER, margin REAL,
  PRIMARY KEY (pass, question),
  FOREIGN KEY (pass, question) REFERENCES questions (pass, question) ON DELETE CASCADE) STRICT;
CREATE TABLE check_results (
  pass INTEGER NOT NULL, position INTEGER NOT NULL, name TEXT NOT NULL, says TEXT NOT NULL, "rows" TEXT NOT NULL,
  look TEXT NOT NULL, serious INTEGER NOT NULL, PRIMARY KEY (pass, position)) STRICT;
CREATE TABLE current (
  number INTEGER PRIMARY KEY REFERENCES row_numbers (number), kind TEXT NOT NULL, loop TEXT, station TEXT,
  certainty TEXT NOT NULL CHECK (certainty IN ('heard by a person', 'repeated', 'clear', 'doubtful')), start_s REAL, line_index INTEGER, value REAL,
  state TEXT NOT NULL CHECK (state IN ('standing', 'rejected')),
  mark TEXT NOT NULL CHECK (mark IN ('', 'carried', 'changed since you looked', 'stands alone')),
  edit INTEGER, revision INTEGER NOT NULL, "row" TEXT NOT NULL) STRICT;
INSERT INTO "current" VALUES(1,'readouts','Wire',NULL,'heard by a person',1.0,NULL,6.0,'standing','',1,1,'{"kind":"readouts","fields":{"parameter":{"value":"tank","origin":"spoken","certainty":"heard by a person","part":0,"why":[],"others":[]},"value":{"value":{"d":"6"},"origin":"person","certainty":"heard by a person","part":null,"why":[],"others":[]}},"evidence":[{"role":"value","text":"5","segment":"r1.0.000001","first_word":0,"last_word":1,"source":["r1",0],"span":[16000,32000],"start_s":1}],"loop":"Wire","station":null,"turn":null,"look":[],"doubt":[],"witnesses":{},"number":1}');
INSERT INTO "current" VALUES(2,'readouts','Wire',NULL,'clear',4.0,NULL,7.5,'standing','',NULL,0,'{"kind":"readouts","fields":{"parameter":{"value":"tank","origin":"spoken","certainty":"clear","part":0,"why":[],"others":[]},"value":{"value":{"d":"7.50"},"origin":"spoken","certainty":"clear","part":0,"why":[],"others":[]}},"evidence":[{"role":"value","text":"7.50","segment":"r1.0.000001","first_word":0,"last_word":1,"source":["r1",0],"span":[64000,80000],"start_s":4}],"loop":"Wire","station":null,"turn":null,"look":[],"doubt":[],"witnesses":{},"number":2}');
CREATE TABLE edits (
  edit INTEGER PRIMARY KEY AUTOINCREMENT, deed INTEGER NOT NULL, number INTEGER NOT NULL REFERENCES row_numbers (number),
  pass INTEGER,
  action TEXT NOT NULL CHECK (action IN ('change', 'accept', 'reject', 'restore', 'add', 'split', 'merge')),
  who TEXT NOT NULL CHECK (who <> ''), at_utc TEXT NOT NULL, saw TEXT, became TEXT, note TEXT NOT NULL,
  undone_utc TEXT, undone_by TEXT) STRICT;
INSERT INTO "edits" VALUES(1,1,1,1,'change','Ida','2026-11-25T12:43:16+00:00','{"kind":"readouts","fields":{"parameter":{"value":"tank","origin":"spoken","certainty":"clear","part":0,"why":[],"others":[]},"value":{"value":{"d":"5"},"origin":"spoken","certainty":"clear","part":0,"why":[],"others":[]}},"evidence":[{"role":"value","text":"5","segment":"r1.0.000001","first_word":0,"last_word":1,"source":["r1",0],"span":[16000,32000],"start_s":1}],"loop":"Wire","station":null,"turn":null,"look":[],"doubt":[],"witnesses":{},"number":1}','{"kind":"readouts","fields":{"parameter":{"value":"tank","origin":"spoken","certainty":"heard by a person","part":0,"why":[],"others":[]},"value":{"value":{"d":"6"},"origin":"person","certainty":"heard by a person","part":null,"why":[],"others":[]}},"evidence":[{"role":"value","text":"5","segment":"r1.0.000001","first_word":0,"last_word":1,"source":["r1",0],"span":[16000,32000],"start_s":1}],"loop":"Wire","station":null,"turn":null,"look":[],"doubt":[],"witnesses":{},"number":1}','',NULL,NULL);
CREATE TABLE erasures (
  erasure INTEGER PRIMARY KEY AUTOINCREMENT, at_utc TEXT NOT NULL, who TEXT NOT NULL, why TEXT NOT NULL, recording TEXT,
  channel INTEGER, start INTEGER, "end" INTEGER, number INTEGER) STRICT;
CREATE TABLE fields (
  pass INTEGER NOT NULL, number INTEGER NOT NULL, position INTEGER NOT NULL, name TEXT NOT NULL, value TEXT NOT NULL,
  origin TEXT NOT NULL CHECK (origin IN ('spoken', 'carried', 'plan', 'assumed', 'person')),
  certainty TEXT NOT NULL CHECK (certainty IN ('heard by a person', 'repeated', 'clear', 'doubtful')), part INTEGER, why TEXT NOT NULL, others TEXT NOT NULL,
  PRIMARY KEY (pass, number, position),
  FOREIGN KEY (pass, number) REFERENCES machine_rows (pass, number) ON DELETE CASCADE) STRICT, WITHOUT ROWID;
INSERT INTO "fields" VALUES(1,1,0,'parameter','"tank"','spoken','clear',0,'[]','[]');
INSERT INTO "fields" VALUES(1,1,1,'value','{"d":"5"}','spoken','clear',0,'[]','[]');
INSERT INTO "fields" VALUES(1,2,0,'parameter','"tank"','spoken','clear',0,'[]','[]');
INSERT INTO "fields" VALUES(1,2,1,'value','{"d":"7.50"}','spoken','clear',0,'[]','[]');
CREATE TABLE listening (
  pass INTEGER NOT NULL, position INTEGER NOT NULL, part TEXT NOT NULL, seconds REAL NOT NULL, expected_errors REAL NOT NULL,
  why TEXT NOT NULL, number INTEGER, PRIMARY KEY (pass, position)) STRICT;
CREATE TABLE machine_rows (
  pass INTEGER NOT NULL, number INTEGER NOT NULL REFERENCES row_numbers (number), position INTEGER NOT NULL,
  kind TEXT NOT NULL, loop TEXT, station TEXT, turn INTEGER, certainty TEXT NOT NULL CHECK (certainty IN ('heard by a person', 'repeated', 'clear', 'doubtful')),
  look TEXT NOT NULL, doubt TEXT NOT NULL, witnesses TEXT NOT NULL, PRIMARY KEY (pass, number)) STRICT;
INSERT INTO "machine_rows" VALUES(1,1,0,'readouts','Wire',NULL,NULL,'clear','[]','[]','{}');
INSERT INTO "machine_rows" VALUES(1,2,1,'readouts','Wire',NULL,NULL,'clear','[]','[]','{}');
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
INSERT INTO "meta" VALUES('title','Cable car trial');
INSERT INTO "meta" VALUES('last edit','1');
CREATE TABLE parts (
  pass INTEGER NOT NULL, number INTEGER NOT NULL, part INTEGER NOT NULL, role TEXT NOT NULL, text TEXT NOT NULL,
  segment TEXT, first_word INTEGER, last_word INTEGER, recording TEXT, channel INTEGER, start INTEGER, "end" INTEGER,
  line_index INTEGER, start_s REAL, PRIMARY KEY (pass, number, part),
  FOREIGN KEY (pass, number) REFERENCES machine_rows (pass, number) ON DELETE CASCADE) STRICT, WITHOUT ROWID;
INSERT INTO "parts" VALUES(1,1,0,'value','5','r1.0.000001',0,1,'r1',0,16000,32000,NULL,1.0);
INSERT INTO "parts" VALUES(1,2,0,'value','7.50','r1.0.000001',0,1,'r1',0,64000,80000,NULL,4.0);
CREATE TABLE passes (
  pass INTEGER PRIMARY KEY, started_utc TEXT NOT NULL, finished_utc TEXT, settings TEXT NOT NULL, versions TEXT NOT NULL,
  digests TEXT NOT NULL, heard_in INTEGER NOT NULL, accepted INTEGER NOT NULL DEFAULT 0) STRICT;
INSERT INTO "passes" VALUES(1,'2026-11-25T12:43:16+00:00','2026-11-25T12:43:16+00:00','{"beam":"5"}','{"debrief":"0.1.0"}','{"model":"0000000000000000000000000000000000000000000000000000000000000000"}',1,1);
CREATE TABLE questions (
  pass INTEGER NOT NULL, position INTEGER NOT NULL, question TEXT NOT NULL, recording TEXT NOT NULL, channel INTEGER NOT NULL,
  start INTEGER NOT NULL, "end" INTEGER NOT NULL, kind TEXT NOT NULL, candidates TEXT NOT NULL, "values" TEXT NOT NULL,
  heard TEXT NOT NULL, asked_by TEXT NOT NULL, PRIMARY KEY (pass, question)) STRICT;
CREATE TABLE recordings (
  recording TEXT PRIMARY KEY, position INTEGER NOT NULL, path TEXT NOT NULL, sha256 TEXT NOT NULL,
  duration INTEGER NOT NULL CHECK (duration >= 0), rate_hz INTEGER NOT NULL, channels INTEGER NOT NULL, loops TEXT NOT NULL,
  offset_s REAL NOT NULL, rate REAL NOT NULL, start_wall TEXT, start_uncertainty_s REAL, notes TEXT NOT NULL) STRICT;
INSERT INTO "recordings" VALUES('r1',0,'wire.flac','0000000000000000000000000000000000000000000000000000000000000000',160000,8000,1,'["Wire"]',0.0,1.0,NULL,NULL,'[]');
CREATE TABLE row_numbers (
  number INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, born_in INTEGER, erased INTEGER NOT NULL DEFAULT 0) STRICT;
INSERT INTO "row_numbers" VALUES(1,'readouts',1,0);
INSERT INTO "row_numbers" VALUES(2,'readouts',1,0);
CREATE TABLE segments (
  pass INTEGER NOT NULL, segment TEXT NOT NULL, recording TEXT, channel INTEGER, idx INTEGER, start INTEGER, "end" INTEGER,
  loop TEXT, speaker TEXT, line_index INTEGER, mean_log_probability REAL, no_speech_probability REAL, compression_ratio REAL,
  voice TEXT, set_aside TEXT NOT NULL, PRIMARY KEY (pass, segment)) STRICT;
INSERT INTO "segments" VALUES(1,'r1.0.000001','r1',0,0,16000,32000,'Wire',NULL,NULL,NULL,NULL,NULL,NULL,'');
CREATE TABLE stretches (
  pass INTEGER NOT NULL, recording TEXT NOT NULL, channel INTEGER NOT NULL, idx INTEGER, start INTEGER NOT NULL,
  "end" INTEGER NOT NULL, held_as TEXT NOT NULL CHECK (held_as IN ('speech', 'no speech detected', 'unreadable', 'excluded')),
  why TEXT NOT NULL, CHECK (0 <= start AND start <= "end")) STRICT;
INSERT INTO "stretches" VALUES(1,'r1',0,0,0,160000,'speech','');
CREATE TABLE tokens (
  pass INTEGER NOT NULL, turn INTEGER NOT NULL, position INTEGER NOT NULL, text TEXT NOT NULL, heard TEXT NOT NULL,
  segment TEXT NOT NULL, word INTEGER NOT NULL, start INTEGER, "end" INTEGER, probability REAL, why TEXT NOT NULL,
  PRIMARY KEY (pass, turn, position),
  FOREIGN KEY (pass, turn) REFERENCES turns (pass, turn) ON DELETE CASCADE) STRICT, WITHOUT ROWID;
INSERT INTO "tokens" VALUES(1,0,0,'tank','tank','r1.0.000001',0,16000,20000,0.9,'');
INSERT INTO "tokens" VALUES(1,0,1,'five.','five.','r1.0.000001',1,20000,32000,0.8,'');
CREATE TABLE turns (
  pass INTEGER NOT NULL, turn INTEGER NOT NULL, station TEXT, addressee TEXT, loop TEXT, start_s REAL, end_s REAL,
  line_index INTEGER, recording TEXT, channel INTEGER, start INTEGER, "end" INTEGER, commentary INTEGER NOT NULL,
  attribution TEXT NOT NULL, PRIMARY KEY (pass, turn)) STRICT;
INSERT INTO "turns" VALUES(1,0,'Rigger',NULL,'Wire',1.0,2.0,NULL,'r1',0,16000,32000,0,'[]');
CREATE TABLE windows (
  pass INTEGER NOT NULL, recording TEXT NOT NULL, channel INTEGER NOT NULL, idx INTEGER NOT NULL,
  PRIMARY KEY (pass, recording, channel, idx)) STRICT, WITHOUT ROWID;
INSERT INTO "windows" VALUES(1,'r1',0,0);
CREATE TABLE words (
  pass INTEGER NOT NULL, segment TEXT NOT NULL, word INTEGER NOT NULL, text TEXT NOT NULL, start INTEGER, "end" INTEGER,
  probability REAL, PRIMARY KEY (pass, segment, word),
  FOREIGN KEY (pass, segment) REFERENCES segments (pass, segment) ON DELETE CASCADE) STRICT, WITHOUT ROWID;
INSERT INTO "words" VALUES(1,'r1.0.000001',0,'tank',16000,20000,0.9);
INSERT INTO "words" VALUES(1,'r1.0.000001',1,'five.',20000,32000,0.8);
CREATE INDEX segments_by_window ON segments (pass, recording, channel, idx);
CREATE INDEX stretches_by_place ON stretches (pass, recording, channel, start);
CREATE INDEX edits_by_row ON edits (number, edit);
CREATE INDEX edits_by_deed ON edits (deed);
CREATE INDEX current_by_time ON current (state, start_s, line_index, number);
CREATE INDEX current_by_kind ON current (kind, state, start_s, number);
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('row_numbers',2);
INSERT INTO "sqlite_sequence" VALUES('edits',1);
COMMIT;

"""Stores and archives from strangers: nothing in them acts by itself, no name leads out, and one that cannot be read holds up no other."""
import json
import os
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

import pytest
from archive_sessions import SECOND, make
from damaged_sound import tones, write_sound
from trust_cli import call

from debrief.archive import showing
from debrief.archive.adding import add
from debrief.archive.finding import find
from debrief.archive.keeping import KeepSettings, keep
from debrief.archive.places import places
from debrief.archive.query import Query
from debrief.archive.shape import Archive
from debrief.archive.showing import PageSettings, page, page_pieces
from debrief.desk.contents import read_contents
from debrief.desk.distribution import write_open_sound
from debrief.desk.page.sounds import Sounds as PageSounds
from debrief.desk.page.sounds import find_recordings
from debrief.desk.places_to_hear import Chosen, Place, with_sound
from debrief.desk.sheet_sound import SheetSettings, clips
from debrief.errors import RecordingError, StoreError
from debrief.records.findings import ListeningItem
from debrief.records.sound import Source
from debrief.store.sessions import SessionStore
from debrief.timebase import Span

ENDLESS = "CREATE VIEW passes AS WITH RECURSIVE t (x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM t) SELECT x AS pass, 1 AS accepted FROM t WHERE x < 0"


def changed(*statements: str) -> Callable[[Path], None]:
    def work(folder: Path) -> None:
        with closing(sqlite3.connect(folder / "debrief.sqlite")) as db:
            for statement in statements:
                db.execute(statement)
            db.commit()
    return work


def pipe(ending: str) -> Callable[[Path], None]:
    return lambda folder: os.mkfifo(folder / f"debrief.sqlite{ending}")


def link(ending: str) -> Callable[[Path], None]:
    return lambda folder: (folder / f"debrief.sqlite{ending}").symlink_to(folder.parent / "mine.txt")


def another(content: bytes) -> Callable[[Path], None]:
    return lambda folder: (folder / "debrief.sqlite").write_bytes(content) and None


@pytest.mark.timeout(60)
@pytest.mark.parametrize(("work", "says"), [
    (pipe("-journal"), "not a plain file, where a database keeps its log"), (pipe("-wal"), "not a plain file, where a database keeps its log"),
    (link("-wal"), "not a plain file, where a database keeps its log"), (link("-shm"), "not a plain file, where a database keeps its log"),
    (changed("ALTER TABLE passes RENAME TO hidden", ENDLESS),
     "not a session store as this program makes it: it holds a view of its own ('passes'), which could act by itself"),
    (changed("CREATE TRIGGER evil AFTER INSERT ON edits BEGIN DELETE FROM current; END"),
     "not a session store as this program makes it: it holds a trigger of its own ('evil'), which could act by itself"),
    (another(b"x" * 5000), "not a session store"), (another(b""), "not a session store: the file is empty"),
    (changed("UPDATE passes SET settings = '1e308'"), "it holds what this program never writes"),
    (changed("UPDATE turns SET attribution = 'null', start_s = 9e999"), "it holds what this program never writes"),
    (changed("UPDATE current SET \"row\" = '" + "[" * 100_000 + "'"), "it holds what this program never writes"),
    (changed("UPDATE recordings SET rate = 0"), "it holds what this program never writes")])
def test_a_store_that_was_tampered_with_is_set_aside_and_the_others_go_on(tmp_path, monkeypatch, capsys, work, says):
    (tmp_path / "mine.txt").write_text("precious", encoding="utf-8")
    folder = make(tmp_path / "a\x1b[2J\nb")
    work(folder)
    good = make(tmp_path / "good", SECOND, sha256="c" * 64)
    told = call(monkeypatch, capsys, "archive", "add", str(tmp_path / "archive"), str(folder), str(good))
    assert "1 added" in told.out + told.err
    assert says in told.out + told.err
    assert "\x1b" not in told.out + told.err
    assert "Traceback" not in told.err
    assert (tmp_path / "mine.txt").read_text(encoding="utf-8") == "precious"


@pytest.mark.parametrize("column", ["turns.start_s", "turns.end_s", "recordings.offset_s", "recordings.rate"])
@pytest.mark.parametrize("value", ["9e999", "-9e999", "1e300"])
def test_times_without_end_in_a_strangers_store_are_refused_by_every_way_out(tmp_path, monkeypatch, capsys, column, value):
    folder, (table, name) = make(tmp_path / "store"), column.split(".")
    changed(f"UPDATE {table} SET {name} = {value}")(folder)
    for given in (("tables", str(folder)), ("sheet", str(folder)), ("copy", str(folder), "--with-medical", "--out", str(tmp_path / "copy")),
                  ("listen", str(folder)), ("compare", str(folder), str(folder), "--out", str(tmp_path / "compared"))):
        told = call(monkeypatch, capsys, *given)
        assert (told.code, "it holds what this program never writes" in told.err) == (2, True)


ODD_ROWS = [("start_s", float("inf")), ("start_s", float("nan")), ("start_s", 1e300), ("start_s", "x"), ("text", 7), ("line_index", 1e999),
            ("span", [-5, 9]), ("span", [10**19, 10**20]), ("span", "x"), ("source", [[]]), ("role", None)]


@pytest.mark.parametrize("change", [
    *(lambda row, odd=odd: row["evidence"][0].update([odd]) for odd in ODD_ROWS),
    *(lambda row, odd=odd: row["fields"]["value"].update(value={"d": odd}) for odd in ("NaN", "-Infinity", "1e999999999", [], "x")),
    *(lambda row, odd=odd: row["fields"]["value"].update([odd]) for odd in (("certainty", "zzz"), ("origin", 5), ("part", "x"))),
    *(lambda row, odd=odd: row.update([odd]) for odd in (
        ("number", -1), ("number", 1e999), ("kind", "zzz"), ("witnesses", 7), ("fields", 3), ("evidence", None), ("look", 5)))])
def test_a_row_that_we_never_write_is_refused_by_every_way_to_it(tmp_path, monkeypatch, capsys, change):
    folder = make(tmp_path / "store")
    with closing(sqlite3.connect(folder / "debrief.sqlite")) as db:
        row = json.loads(db.execute('SELECT "row" FROM current WHERE number = 1').fetchone()[0])
        change(row)
        db.execute('UPDATE current SET "row" = ? WHERE number = 1', (json.dumps(row),))
        db.commit()
    for given in (("tables", str(folder)), ("row", str(folder), "1"), ("search", str(folder)), ("change", str(folder), "1", "unit=bar", "--by", "Ida"),
                  ("erase", str(folder), "--row", "1", "--by", "Ida", "--why", "wish", "--yes")):
        told = call(monkeypatch, capsys, *given)
        assert (told.code, "it holds what this program never writes" in told.err) == (2, True), given[0]


def test_a_store_that_holds_what_we_never_write_is_refused_by_the_desk_too(tmp_path):
    folder = make(tmp_path / "store")
    changed("UPDATE passes SET settings = '1e308'")(folder)
    with SessionStore.open(folder) as store, pytest.raises(StoreError, match="it holds what this program never writes"):
        read_contents(store)


def test_an_archive_with_a_trigger_is_refused_and_our_own_views_are_not(tmp_path):
    with Archive.create(tmp_path / "archive") as archive:
        assert [item.what for item in add(archive, [make(tmp_path / "one")])] == ["added"]
    Archive.open(tmp_path / "archive").close()
    with closing(sqlite3.connect(tmp_path / "archive" / "archive.sqlite")) as db:
        db.execute("CREATE TRIGGER evil AFTER DELETE ON sessions BEGIN DELETE FROM rows; END")
    with pytest.raises(StoreError, match="a trigger of its own"):
        Archive.open(tmp_path / "archive")


@pytest.mark.parametrize("sha256", ["", "a" * 64])
def test_a_file_that_a_strangers_store_names_never_goes_into_a_package(tmp_path, sha256):
    """Whose digest the stranger does not know, or does not tell."""
    (tmp_path / "secret.txt").write_text("our secret", encoding="utf-8")
    folder = make(tmp_path / "store", sha256=sha256, sound=tmp_path / "secret.txt")
    with SessionStore.open(folder) as store, pytest.raises(RecordingError):
        keep(store, tmp_path / "bag", KeepSettings(sound=True))
    assert not [path for path in (tmp_path / "bag").rglob("*") if path.is_file() and b"our secret" in path.read_bytes()]


@pytest.fixture
def talked(tmp_path):
    """A session of one sound file and its archive; the sound stands where the row is."""
    sound = write_sound(tmp_path / "loop.wav", tones(90))
    folder = make(tmp_path / "store", sound=sound)
    changed("UPDATE recordings SET duration = 1440000")(folder)
    with Archive.create(tmp_path / "archive") as archive:
        assert [item.what for item in add(archive, [folder])] == ["added"]
    return folder


def ways_out(folder: Path) -> dict[str, int]:
    """Bytes of sound that each way out gives of the session's first leak and its rows."""
    out = folder.parent
    with SessionStore.open(folder, read_only=True) as store:
        contents = read_contents(store)
        page = PageSounds(find_recordings(store))
    with Archive.open(out / "archive") as archive:
        found = places(archive, answer := find(archive, Query("leak")))
        shown = "".join(page_pieces(answer, found, PageSettings("leak")))
    place = Place(ListeningItem(contents.rows[0].place, 3.0, 0.1, ("doubtful",)), (contents.rows[0],))
    chosen, _ = with_sound(Chosen((place,), 1, (3.0, 3.0), (0.1, 0.1)), contents.recordings)
    with suppress(RecordingError):
        write_open_sound(contents.recordings[0], out / "copied.wav")
    with suppress(RecordingError):
        page.clip(Source("r1", 0), Span.of_seconds(5, 6))
    sounds = clips(contents, contents.recordings, SheetSettings())
    return {"sheet": len(sounds.at), "list": int(chosen.places[0].sound_s is not None), "copy": int((out / "copied.wav").exists()),
            "archive page": shown.count("data-sound="), "review page": sum(item.path is not None for item in page.recordings.values())}


def test_sound_is_cut_from_the_recording_that_was_heard(talked):
    assert ways_out(talked) == {"sheet": 8, "list": 1, "copy": 1, "archive page": 2, "review page": 1}


@pytest.mark.parametrize("how", ["another recording of that name and length", "no digest in the store"])
def test_no_sound_is_cut_from_a_file_that_was_not_heard(talked, how):
    """A lead would confirm rows by somebody else's words, and a stranger's store could name any file of ours."""
    if how.startswith("another"):
        write_sound(talked.parent / "loop.wav", tones(90)[::-1])
    else:
        changed("UPDATE recordings SET sha256 = ''")(talked)
        with closing(sqlite3.connect(talked.parent / "archive" / "archive.sqlite")) as db:
            db.execute("UPDATE recordings SET sha256 = ''")
            db.commit()
    assert set(ways_out(talked).values()) == {0}


def test_excluded_sound_is_silent_in_the_page_of_an_archive(talked, monkeypatch):
    """Its turns may reach over what was excluded; only the session's store knows, and without it there is no sound."""
    given = []
    monkeypatch.setattr(showing, "clip", lambda recording, *_: given.append(recording.kept_out) or b"x")
    changed("INSERT INTO stretches VALUES (1, 'r1', 0, -1, 16000, 32000, 'excluded', 'excluded on request')")(talked)
    with Archive.open(talked.parent / "archive") as archive:
        found = places(archive, answer := find(archive, Query("leak")))
        page(answer, found, PageSettings("leak"))
        assert given == [((0, Span(16_000, 32_000)),)] * 2
        (talked / "debrief.sqlite").unlink()
        page(answer, found, PageSettings("leak"))
    assert len(given) == 2


def test_a_folder_that_leads_into_itself_is_read_once(tmp_path):
    (make(tmp_path / "store") / "again").symlink_to(tmp_path / "store")
    with Archive.create(tmp_path / "archive") as archive:
        assert [item.what for item in add(archive, [tmp_path / "store"])] == ["added"]


def test_no_name_of_a_session_steers_a_terminal_or_leads_out_of_the_package(tmp_path, monkeypatch, capsys):
    make(tmp_path / "store", title="\x1b[2J=cmd\u202e\n../../out", sha256="")
    archive = str(tmp_path / "archive")
    said = [call(monkeypatch, capsys, "archive", *given) for given in (
        ("add", archive, str(tmp_path / "store")), ("list", archive), ("search", archive, "leak"), ("export", archive, str(tmp_path / "kept")))]
    assert [told.code for told in said] == [0, 0, 0, 0]
    assert not [character for told in said for character in told.out + told.err if character in "\x1b\u202e"]
    assert {path.name for path in tmp_path.iterdir()} == {"store", "archive", "kept"}
    assert {path.name for path in (tmp_path / "kept").iterdir()} == {"session-00001"}

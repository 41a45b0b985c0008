"""The archive: sessions go in once, whole or not at all; three plain questions find what was said; nothing removed is left."""
import csv
import io
import json
import subprocess
import sys
import tracemalloc
from contextlib import suppress
from html import unescape
from pathlib import Path

import pytest
from archive_sessions import FIRST, READOUTS, SECOND, make, readout, turn
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from debrief.archive import showing
from debrief.archive.adding import AddSettings, add, find_stores, remove
from debrief.archive.finding import find
from debrief.archive.places import places
from debrief.archive.query import Query, amount, bounds, checked, field_given, instant
from debrief.archive.shape import Archive
from debrief.archive.showing import PageSettings, csv_text, json_lines, lines, page, summary
from debrief.archive.verifying import verify
from debrief.cli_archive import archive_app
from debrief.errors import InputError, StoreError
from debrief.store.edits import accept, standing
from debrief.store.erase import erase
from debrief.store.sessions import SessionStore


@pytest.fixture
def folder(tmp_path):
    make(tmp_path / "runs" / "one")
    make(tmp_path / "runs" / "two", SECOND, [readout(1, "cabin pressure", "4.99", "psi")], sha256="c" * 64, day=2, title="Chamber trial, rehearsal")
    return tmp_path


@pytest.fixture
def archive(folder):
    with Archive.create(folder / "archive") as made:
        assert [item.what for item in add(made, [folder / "runs"])] == ["added", "added"]
        yield made


def said(archive, query):
    return [place.says for place in places(archive, find(archive, query))]


# in and out


def test_a_folder_of_sessions_goes_in_once(archive, folder):
    assert [item.what for item in add(archive, [folder / "runs", folder / "runs" / "one"])] == ["already there", "already there"]
    assert archive.one("SELECT count(*) AS n FROM turns")["n"] == len(FIRST) + len(SECOND)
    assert archive.one("SELECT count(*) AS n FROM rows")["n"] == len(READOUTS) + 1


def test_a_copy_of_a_store_in_another_folder_is_already_there(archive, folder):
    make(folder / "copy")
    assert [item.what for item in add(archive, [folder / "copy"])] == ["already there"]


def test_a_store_that_changed_takes_its_own_place(archive, folder):
    with SessionStore.open(folder / "runs" / "one") as store:
        accept(store.db, 1, standing(store.db, 1).revision, "R. Vale")
    assert [item.what for item in add(archive, [folder / "runs"])] == ["replaced", "already there"]
    assert archive.one("SELECT count(*) AS n FROM sessions")["n"] == 2
    found = places(archive, find(archive, Query(at_least="heard by a person")))
    assert [place.number for place in found] == [1]


def test_the_same_recordings_from_another_store_are_set_aside_unless_asked_for(archive, folder):
    make(folder / "again", SECOND)
    (outcome,) = add(archive, [folder / "again"])
    assert outcome.what == "set aside"
    assert outcome.why == f"the same recordings are in the archive already, from {folder / 'runs' / 'one' / 'debrief.sqlite'}; --replace takes this store instead"
    assert [item.what for item in add(archive, [folder / "again"], AddSettings(replace=True))] == ["replaced"]


def test_readers_in_other_processes_give_the_same_archive(archive, folder):
    with Archive.create(folder / "other") as other:
        assert {item.what for item in add(other, [folder / "runs"], AddSettings(readers=2))} == {"added"}
        for sql in ("SELECT * FROM turns", "SELECT * FROM rows", "SELECT contents FROM sessions", "SELECT * FROM vocabulary"):
            assert [tuple(item) for item in other.all(sql)] == [tuple(item) for item in archive.all(sql)]


def test_a_damaged_store_is_set_aside_and_the_others_go_on(folder):
    (folder / "runs" / "one" / "debrief.sqlite").write_bytes(b"SQLite format 3\0" + b"x" * 4096)
    with Archive.create(folder / "archive") as made:
        assert [item.what for item in add(made, [folder / "runs"])] == ["set aside", "added"]


def test_a_writer_that_is_killed_leaves_whole_sessions_and_the_next_goes_on(folder):
    code = ("import sys, os; from pathlib import Path; from debrief.archive import adding; from debrief.archive.shape import Archive\n"
            "entered = adding.Entry.end\n"
            "def end(self):\n"
            "    entered(self)\n"
            "    if self.session == 2: os._exit(9)\n"
            "adding.Entry.end = end\n"
            "list(adding.add(Archive.create(Path(sys.argv[1])), [Path(sys.argv[2])]))")
    done = subprocess.run([sys.executable, "-c", code, folder / "archive", folder / "runs"], check=False)
    assert done.returncode == 9
    with Archive.open(folder / "archive") as made:
        assert made.one("SELECT count(*) AS n FROM turns")["n"] == len(FIRST)
        assert sorted(item.what for item in add(made, [folder / "runs"])) == ["added", "already there"]
        assert list(verify(made)) == []


def test_removed_for_good_no_byte_is_left(archive, folder):
    assert remove(archive, ["Chamber trial, first run"], for_good=True) == ["Chamber trial, first run"]
    archive.close()
    left = b"".join(path.read_bytes() for path in (folder / "archive").iterdir())
    assert not [word for word in (b"heather", b"Medic", b"no go", b"first run") if word in left]
    assert b"rehearsal" in left


def test_what_was_erased_in_a_store_leaves_the_archive_when_it_is_added_again(archive, folder):
    with SessionStore.open(folder / "runs" / "one") as store:
        erase(store.db, "R. Vale", "private", [(turn(4, FIRST[4]).source, turn(4, FIRST[4]).span)])
        store.db.run("UPDATE tokens SET text = '[erased]', heard = '[erased]' WHERE turn = 4")
    assert "replaced" in [item.what for item in add(archive, [folder / "runs"])]
    archive.close()
    assert b"heather" not in b"".join(path.read_bytes() for path in (folder / "archive").iterdir())


# the three questions


def test_every_cabin_pressure_below_5_psi(archive):
    """34.0 kPa is 4.931 psi and 35 kPa is 5.076 psi by the factor 6.894757 kPa (NIST SP 811, table B.8)."""
    answer = find(archive, Query(parameter="cabin pressure", high=amount("5 psi")))
    assert [place.says for place in places(archive, answer)] == ["cabin pressure 4.99 psi", "cabin pressure 4.8 psi", "cabin pressure 34.0 kPa"]
    assert summary(answer) == "3 rows; 1 more values of it carry no unit and were not compared"


def test_limits_and_plans_come_only_when_asked_for(archive):
    found = said(archive, Query(parameter="cabin pressure", high=amount("4.6 psi"), every_class=True))
    assert len(found) == 1
    assert found[0].startswith("cabin pressure 4.5 psi")
    assert said(archive, Query(parameter="cabin pressure", high=amount("4.6 psi"))) == []


def test_a_bound_itself_is_not_below_and_is_between(archive):
    assert "cabin pressure 4.8 psi" not in said(archive, Query(parameter="cabin pressure", high=amount("4.8 psi")))
    low, high, inclusive = bounds(None, None, ("4.8", "4.9 psi"))
    assert said(archive, Query(parameter="cabin pressure", low=low, high=high, inclusive=inclusive)) == ["cabin pressure 4.8 psi"]


def test_who_answered_no_go(archive):
    for written in ("no-go", "NO GO", "nogo"):
        (place,) = places(archive, find(archive, Query(fields=(field_given(f"answer={written}"),))))
        assert (place.station, place.says) == ("Medic", "Medic: NO-GO")


def test_where_a_leak_was_first_mentioned(archive):
    (place,) = places(archive, find(archive, Query("leak*", first="archive")))
    assert (place.title, place.says, place.when) == ("Chamber trial, rehearsal", "no leaks so far", "2031-04-02 10:00:00 UTC (0:00:00)")
    assert said(archive, Query("leak", first="session")) == ["I see a leak at the door seal"]


# words


@pytest.mark.parametrize(("words", "found"), [
    ("leak", 2), ('"leak at the seal"', 1), ("leak seal", 2), ("pump NEAR seal", 1), ("leak NEAR clear", 0), ("rog*", 1), ("LEAK", 2), ("nothing", 0)])
def test_words_phrases_beginnings_and_near_ones(archive, words, found):
    assert len(said(archive, Query(words))) == found


def test_a_word_is_found_by_what_sounds_like_it(archive):
    assert said(archive, Query("tether")) == []
    assert said(archive, Query("tether", sounds_like=True)) == ["the heather is holding"]


def test_words_join_with_who_where_and_when(archive):
    assert len(said(archive, Query("leak", stations=("topside",)))) == 1
    assert len(said(archive, Query("leak*", utc_from=instant("2031-04-02"), utc_to=instant("2031-04-02", end=True)))) == 2
    assert len(said(archive, Query("leak", utc_from=instant("2031-04-04T10:00:25")))) == 1
    assert said(archive, Query("pressure", of="rows", kinds=("polls",))) == []
    assert len(said(archive, Query("pressure", of="rows", sessions=("Chamber trial, rehearsal",)))) == 1


def test_sessions_without_a_date_come_last_and_are_told_of(archive, folder):
    make(folder / "undated", SECOND, (), sha256="d" * 64, day=None, title="undated")
    assert [item.what for item in add(archive, [folder / "undated"])] == ["added"]
    assert [place.title for place in places(archive, find(archive, Query("leaks")))][-2:] == ["undated", "undated"]
    assert find(archive, Query("leaks", utc_from=0.0)).notes == ("1 sessions have no known date and were left out",)


def test_copies_on_other_loops_come_only_when_asked_for(tmp_path):
    folder = make(tmp_path / "run", ())
    with SessionStore.open(folder) as store:
        store.save_turns(1, [turn(0, FIRST[2]), turn(1, FIRST[2], aside="a copy of turn 0")])
    with Archive.create(tmp_path / "archive") as made:
        list(add(made, [folder]))
        assert len(said(made, Query("leak"))) == 1
        assert len(said(made, Query("leak", copies=True))) == 2


@given(st.text(max_size=40))
@settings(max_examples=80)
def test_no_text_breaks_the_search(words):
    with Archive._ready(Path(":memory:"), "memory") as made, suppress(InputError):
        find(made, Query(words))


# shown


def test_a_place_plays_and_a_page_asks_for_nothing_from_outside(archive):
    answer = find(archive, Query("alert"))
    (place,) = places(archive, answer)
    assert place.media.endswith("one/loop.wav#t=49.50,52.50")
    made = page(answer, [place], PageSettings("alert"))
    assert "<script>alert(1)" not in made
    assert "default-src 'none'" in unescape(made)
    assert "http" not in made.replace("http-equiv", "")


def test_the_sound_of_a_page_is_never_whole_in_memory(archive, tmp_path, monkeypatch):
    """A clip a place; the largest piece of the page holds one of them."""
    monkeypatch.setattr(showing, "at_hand", lambda *_: tmp_path / "loop.wav")
    monkeypatch.setattr(showing, "clip", lambda *_: b"x" * 300_000)
    answer = find(archive, Query("leak"))
    found = places(archive, answer)
    assert len(found) == 2
    tracemalloc.start()
    sizes = [len(piece) for piece in showing.page_pieces(answer, found * 60, PageSettings("leak", waiting=tmp_path / "page"))]
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert sum(sizes) > 48e6
    assert most < 10e6
    assert list((tmp_path / "page").iterdir()) == []


def test_lines_json_and_csv_say_the_same(archive):
    answer = find(archive, Query(parameter="cabin pressure", high=amount("4.9 psi")))
    (place,) = places(archive, answer)
    assert list(lines([place]))[1] == "    readouts: cabin pressure 4.8 psi"
    told = json.loads(json_lines([place]))
    assert told["fields"]["value"] == {"value": "4.8", "origin": "spoken", "certainty": "clear"}
    (row,) = csv.DictReader(io.StringIO(csv_text([place])))
    assert (row["says"], row["utc"], row["from_s"]) == ("cabin pressure 4.8 psi", "2031-04-04T10:00:05.000Z", "4.5")


# verified, and refused


def test_verify_tells_of_a_changed_store_a_lost_turn_and_a_spoilt_index(archive, folder):
    assert list(verify(archive, read_all=True)) == []
    with SessionStore.open(folder / "runs" / "two") as store:
        store.note("title", "renamed")
    assert [item.says for item in verify(archive)] == ["its store has changed since; add it again"]
    archive.connection.execute("DELETE FROM turns WHERE id = 1")
    told = {item.says for item in verify(archive) if item.serious}
    assert "turns are missing" in told


@pytest.mark.parametrize(("ask", "what"), [
    (lambda: amount("five"), "'five' is no value"),
    (lambda: bounds("5 psi", "3 V", None), "'3 V' and '5 psi' do not measure the same"),
    (lambda: bounds("5 psi", None, ("1", "2")), "--between stands alone"),
    (lambda: instant("soon"), "'soon' is no date"),
    (lambda: field_given("answer"), "'answer' is not NAME=VALUE"),
    (lambda: checked(Query()), "nothing is asked"),
    (lambda: checked(Query("a", kinds=("x",))), "there is no kind 'x'"),
    (lambda: checked(Query("a", at_least="sure")), "there is no certainty 'sure'"),
])
def test_what_cannot_be_asked(ask, what):
    with pytest.raises(InputError) as told:
        ask()
    assert told.value.what == what


@pytest.mark.parametrize(("query", "what"), [
    (Query("leak", stations=("Topsyde",)), "no session has a station 'Topsyde'"), (Query(parameter="bilge"), "no row is about 'bilge'"),
    (Query(fields=(("answer", "maybe"),)), "no row has answer='maybe'"), (Query(fields=(("colour", "red"),)), "no row has a field 'colour' of text"),
    (Query(parameter="bus", high=amount("5")), "values of 'bus' carry a unit"), (Query("a", sessions=("none",)), "the archive holds no session 'none'")])
def test_names_the_archive_does_not_have(archive, query, what):
    with pytest.raises(InputError) as told:
        find(archive, query)
    assert told.value.what == what


def test_a_value_without_its_unit_is_told_the_units_there_are(archive):
    with pytest.raises(InputError) as told:
        find(archive, Query(parameter="bus", low=amount("5")))
    assert told.value.todo == "give one with the number (they are told in: V)"


@pytest.mark.parametrize(("query", "notes"), [
    (Query("tether"), ("no session has the word 'tether', near it: heather", "--sounds-like also finds what was written for a word that was misheard")),
    (Query("pessure", sounds_like=True), ("no session has the word 'pessure'",)),
    (Query("raido", sounds_like=True), ("no session has the word 'raido', near it: radio",)),
    (Query("pump heather", sounds_like=True), ("each word is there, but nowhere together",)),
    (Query("leak*", stations=("Medic",), sounds_like=True), ()), (Query("leak", sounds_like=True), ())])
def test_words_that_are_not_found_are_helped(archive, query, notes):
    assert find(archive, query).notes == notes


def test_a_search_knows_a_session_by_words_of_its_title_and_removing_does_not(archive):
    assert len(said(archive, Query("leak*", sessions=("rehearsal",)))) == 2
    assert len(said(archive, Query("leak*", sessions=("chamber",)))) == 4
    with pytest.raises(InputError, match="the archive holds no session 'rehearsal'"):
        remove(archive, ["rehearsal"])


def test_files_that_are_no_archive(folder):
    with pytest.raises(StoreError, match="no archive here"):
        Archive.open(folder / "nowhere")
    with pytest.raises(StoreError, match="not an archive"):
        Archive.open(folder / "runs" / "one" / "debrief.sqlite")
    with pytest.raises(StoreError, match="no such folder or file"):
        find_stores([folder / "missing"])


def test_the_verbs(folder):
    door, archive = CliRunner(), str(folder / "a")
    done = door.invoke(archive_app, ["add", archive, str(folder / "runs"), "--readers", "1"])
    assert (done.exit_code, done.stdout) == (0, "2 added\n")
    assert "2 sessions" in door.invoke(archive_app, ["list", archive]).stdout
    found = door.invoke(archive_app, ["search", archive, "--answer", "no-go", "--as", "jsonl"])
    assert json.loads(found.stdout.splitlines()[0])["says"] == "Medic: NO-GO"
    out = folder / "found.html"
    assert door.invoke(archive_app, ["search", archive, "leak", "--as", "page", "--out", str(out)]).exit_code == 0
    assert "<mark>leak</mark>" in out.read_text()
    told = door.invoke(archive_app, ["search", archive, "leak"]).stderr
    assert told.endswith("hear them: the same with --as page --out found.html --recordings FOLDER (some are not where they were heard)\n")
    assert "hear them" not in door.invoke(archive_app, ["search", archive, "unheard"]).stderr
    assert door.invoke(archive_app, ["verify", archive]).stdout == "the archive is sound and holds what its sessions hold\n"
    assert door.invoke(archive_app, ["remove", archive, "1"]).stdout == "removed: Chamber trial, first run\n"
    assert "every cabin pressure below 5 psi" in door.invoke(archive_app, ["search", "--help"]).stdout

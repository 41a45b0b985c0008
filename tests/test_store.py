"""The session store: nothing half-written, numbers that never change, edits that are never lost, refusals in words."""
import os
import sqlite3
import subprocess
import sys
import tempfile
import threading
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from debrief.errors import ChangedMeanwhile, InputError, StoreError
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Recording, Segment, Source, Stretch, Word
from debrief.records.talk import Token, Turn
from debrief.store import edits
from debrief.store.codec import row_in, row_out
from debrief.store.database import Database
from debrief.store.erase import erase, erased_places
from debrief.store.locks import sole_run
from debrief.store.matching import match
from debrief.store.schema import VERSION
from debrief.store.search import RowFilter, as_match, find_rows, find_turns
from debrief.store.sessions import SessionStore
from debrief.timebase import Span

GOLDEN = Path(__file__).parent / "golden" / "older_store" / "version_1.sql"
SOURCE = Source("r1", 0)


def row(start_s: float, value: str, parameter: str = "tank pressure", length_s: float = 1.0) -> Row:
    place = Part("value", value, "r1.0.000001", 0, 1, SOURCE, Span.of_seconds(start_s, start_s + length_s), None, start_s)
    return Row("readouts", {"parameter": Field(parameter, part=0), "value": Field(Decimal(value), part=0)}, (place,), "Wire")


@pytest.fixture
def store(tmp_path):
    with SessionStore.create(tmp_path / "session") as made:
        yield made


def a_pass(store: SessionStore, rows, **settings) -> list[Row]:
    made = store.begin_pass({"words": str(settings)}, {}, {})
    numbered = store.save_rows(made.number, rows)
    store.finish_pass(made.number)
    return numbered


def revision(store: SessionStore, number: int) -> int:
    return edits.standing(store.db, number).revision


def values(store: SessionStore) -> dict[int, Decimal]:
    return {item.number: item.get("value") for item in store.rows()}


# what goes in comes out

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
field_values = st.one_of(st.none(), st.booleans(), texts, st.integers(-9, 9), st.decimals(allow_nan=False, allow_infinity=False, places=2),
                         st.dictionaries(texts, texts, max_size=2))


@given(st.dictionaries(texts, field_values, max_size=4), texts, st.lists(texts, max_size=2))
def test_a_row_comes_back_as_it_was(fields, text, look):
    made = Row("readouts", {name: Field(value, part=0, others=(value,)) for name, value in fields.items()},
               (Part("value", text, source=SOURCE, span=Span(1, 2)), Part("searched and absent", text)), look=tuple(look), number=3)
    again = row_in(row_out(made))
    assert again == made
    assert [type(item.value) for item in again.fields.values()] == [type(item.value) for item in made.fields.values()]


def test_places_that_were_said_survive_the_store(store):
    a_pass(store, [row(1, "34.30")])
    assert str(store.rows()[0].get("value")) == "34.30"


def test_an_empty_store_has_nothing(store):
    assert (store.rows(), store.recordings(), store.passes(), store.seal()) == ([], [], [], None)


def test_windows_and_turns_come_back(store):
    store.add_recording(Recording("r1", "wire.flac", "0" * 64, 160_000, 8000, 1, ("Wire",)))
    made = store.begin_pass({}, {}, {})
    segment = Segment("r1.0.000001", (Word("pump", Span(0, 10), 0.5), Word("two")), SOURCE, Span(0, 20), "Wire")
    store.save_window((made.number, SOURCE, 0), [segment], [Stretch(SOURCE, Span(0, 100_000), "speech")])
    store.save_window((made.number, SOURCE, 0), [segment], [Stretch(SOURCE, Span(0, 100_000), "speech")])
    turn = Turn(0, (Token("pump", "bump", segment.segment, 0, Span(0, 10), 0.5, "sounds alike"),), "Rigger", loop="Wire", start_s=0.0,
                source=SOURCE, span=Span(0, 10), answers=None, set_aside="a copy of another loop")
    store.save_turns(made.number, [turn])
    assert store.segments(made.number) == [segment]
    assert store.turns(made.number) == [turn]
    assert store.unaccounted(made.number) == [(SOURCE, Span(100_000, 160_000))]


def test_half_a_surrogate_pair_is_stored_as_the_sign_for_unreadable(store):
    made = store.begin_pass({}, {}, {})
    store.save_window((made.number, SOURCE, 0), [Segment("r1.0.000001", (Word("a\ud800b"),), SOURCE)])
    assert store.segments(made.number)[0].text == "a?b"


def test_a_window_that_fails_leaves_nothing(store):
    made = store.begin_pass({}, {}, {})
    twice = Segment("r1.0.000001", (Word("pump"),), SOURCE)
    with pytest.raises(sqlite3.IntegrityError):
        store.save_window((made.number, SOURCE, 0), [twice, twice])
    assert not store.window_done(made.number, SOURCE, 0)
    assert store.segments(made.number) == []


def test_an_unfinished_pass_goes_on_and_a_finished_one_does_not(store):
    first = store.begin_pass({"beam": "5"}, {}, {})
    assert store.begin_pass({"beam": "5"}, {}, {}).number == first.number
    assert store.begin_pass({"beam": "1"}, {}, {}).number != first.number
    store.finish_pass(first.number)
    assert store.begin_pass({"beam": "5"}, {}, {}).number != first.number


# numbers and matching


def test_numbers_stay_with_their_rows_and_are_never_reused(store):
    a_pass(store, [row(1, "5"), row(10, "6"), row(20, "7")])
    assert [item.number for item in a_pass(store, [row(20.3, "7"), row(1.1, "5")], cut=2)] == [3, 1]
    assert [item.number for item in a_pass(store, [row(1, "5"), row(10, "6"), row(20, "7")], cut=3)] == [1, 4, 3]


def test_saved_again_a_pass_gives_the_same_numbers(store):
    made = store.begin_pass({}, {}, {})
    first = store.save_rows(made.number, [row(1, "5"), row(10, "6")])
    assert store.save_rows(made.number, [row(1, "5"), row(10, "6")]) == first


@pytest.mark.parametrize(("before", "after", "pairs"), [
    ({1: row(1, "5")}, [row(1.5, "9")], {0: 1}),
    ({1: row(1, "5")}, [row(1.9, "5")], {}),                                      # too little shared
    ({1: row(1, "5"), 2: row(1, "6")}, [row(1, "6"), row(1, "5")], {0: 2, 1: 1}),  # equal places: equal fields decide
    ({1: row(1, "5"), 2: row(1.4, "5")}, [row(1.4, "5")], {0: 2}),                 # most shared samples
    ({2: row(1, "5"), 1: row(1, "5")}, [row(1, "5")], {0: 1}),                     # all equal: the lower number
    ({1: replace(row(1, "5"), kind="times")}, [row(1, "5")], {}),
    ({}, [row(1, "5")], {}),
])
def test_rows_are_matched_one_to_one_by_the_named_tie_break(before, after, pairs):
    assert match(before, after) == pairs


# edits


def test_ten_edits_live_through_a_pass_with_other_cuts(store):
    a_pass(store, [row(10 * i, str(i)) for i in range(12)])
    for number in range(1, 9):
        edits.change(store.db, number, revision(store, number), {"value": Decimal(100 + number)}, "Ida")
    edits.reject(store.db, 9, revision(store, 9), "Ida")
    edits.accept(store.db, 10, revision(store, 10), "Ida")
    shifted = [row(10 * i + 0.2, str(i), length_s=1.4) for i in range(12) if i not in (0, 1)]
    a_pass(store, [replace(item, fields={**item.fields, "value": Field(Decimal("77"))}) if i == 0 else item
                   for i, item in enumerate(shifted)], cut=2)
    marks = {item.row.number: item.mark for item in edits.all_standing(store.db, rejected=True)}
    assert marks == {1: "stands alone", 2: "stands alone", 3: "changed since you looked", 4: "carried", 5: "carried", 6: "carried",
                     7: "carried", 8: "carried", 9: "carried", 10: "carried", 11: "", 12: ""}
    assert values(store) == {n: Decimal(100 + n) for n in range(1, 9)} | {10: Decimal(9), 11: Decimal(10), 12: Decimal(11)}
    assert len(edits.deeds(store.db)) == 10
    assert "changed since you looked" in next(item for item in store.rows() if item.number == 3).look


def test_a_second_edit_of_a_row_is_carried_too(store):
    """What the person saw was an edited row; what counts is what the machine said then and says now."""
    a_pass(store, [row(1, "5")])
    for value in ("6", "7"):
        edits.change(store.db, 1, revision(store, 1), {"value": Decimal(value)}, "Ida")
    a_pass(store, [row(1, "5")], cut=2)
    assert edits.standing(store.db, 1).mark == "carried"


def test_the_machines_row_stays_beside_the_persons(store):
    a_pass(store, [row(1, "5")])
    changed = edits.change(store.db, 1, revision(store, 1), {"value": Decimal("6")}, "Ida")
    assert changed.fields["value"].origin == "person"
    assert store.machine_rows(1)[0].get("value") == Decimal("5")


def test_every_deed_can_be_undone(store):
    a_pass(store, [row(1, "5"), row(10, "6")])
    before = store.rows()
    edits.change(store.db, 1, revision(store, 1), {"value": Decimal("9")}, "Ida")
    edits.reject(store.db, 2, revision(store, 2), "Ida")
    edits.add(store.db, row(30, "1"), "Ida")
    assert values(store) == {1: Decimal("9"), 3: Decimal("1")}
    for _ in range(3):
        edits.undo(store.db, "Ida")
    assert store.rows() == before
    with pytest.raises(InputError, match="there is nothing to undo"):
        edits.undo(store.db, "Ida")
    assert edits.add(store.db, row(30, "1"), "Ida").number == 4


def test_split_and_merge_are_undone_whole(store):
    a_pass(store, [row(1, "5"), row(10, "6")])
    before = store.rows()
    edits.split(store.db, 1, revision(store, 1), [{"value": Decimal("1")}, {"value": Decimal("2")}], "Ida")
    assert values(store) == {1: Decimal("1"), 3: Decimal("2"), 2: Decimal("6")}
    edits.undo(store.db, "Ida")
    edits.merge(store.db, [(1, revision(store, 1)), (2, revision(store, 2))], "Ida")
    assert values(store) == {1: Decimal("5")}
    edits.undo(store.db, "Ida")
    assert store.rows() == before


def test_a_stale_page_is_refused_whatever_changed_the_row(store):
    a_pass(store, [row(1, "5")])
    seen = revision(store, 1)
    edits.change(store.db, 1, seen, {"value": Decimal("6")}, "Ida")
    with pytest.raises(ChangedMeanwhile, match="row 1 was changed since you looked"):
        edits.reject(store.db, 1, seen, "Olaf")
    edits.undo(store.db, "Ida")
    with pytest.raises(ChangedMeanwhile):
        edits.accept(store.db, 1, seen, "Olaf")
    seen = revision(store, 1)
    a_pass(store, [row(1, "8")], cut=2)
    with pytest.raises(ChangedMeanwhile):
        edits.accept(store.db, 1, seen, "Olaf")


def test_two_writers_lose_no_edit(tmp_path):
    with SessionStore.create(tmp_path) as store:
        a_pass(store, [row(10 * i, str(i)) for i in range(20)])

    def work(who: str, numbers: range) -> None:
        with SessionStore.open(tmp_path) as mine:
            for number in numbers:
                edits.accept(mine.db, number, revision(mine, number), who)

    people = [threading.Thread(target=work, args=("Ida", range(1, 11))), threading.Thread(target=work, args=("Olaf", range(11, 21)))]
    for person in people:
        person.start()
    for person in people:
        person.join()
    with SessionStore.open(tmp_path) as store:
        assert {deed.number for deed in edits.deeds(store.db)} == set(range(1, 21))
        assert {item.certainty for item in store.rows()} == {"heard by a person"}
        assert store.db.integrity_faults() == []


@pytest.mark.parametrize(("call", "says"), [
    (lambda db: edits.accept(db, 99, 0, "Ida"), "no row has the number 99"),
    (lambda db: edits.accept(db, 1, edits.standing(db, 1).revision, " "), "nobody is named for this edit"),
    (lambda db: edits.change(db, 1, edits.standing(db, 1).revision, {"colour": "red"}, "Ida"), "a row of readouts has no field 'colour'"),
])
def test_edits_that_make_no_sense_are_refused(store, call, says):
    a_pass(store, [row(1, "5")])
    with pytest.raises(InputError, match=says):
        call(store.db)
    assert edits.deeds(store.db) == []


# sign-off


def test_a_later_edit_breaks_the_seal(store):
    a_pass(store, [row(1, "5"), row(10, "6")])
    edits.accept(store.db, 1, revision(store, 1), "Ida")
    seal = store.sign("Ida")
    assert (seal.heard, seal.not_heard, store.seal().broken) == (1, 1, False)
    edits.accept(store.db, 2, revision(store, 2), "Olaf")
    assert store.seal().broken


def test_nobody_signs_nothing(store):
    with pytest.raises(InputError, match="nobody is named for the sign-off"):
        store.sign(" ")


# the file


def test_an_older_store_is_brought_up_to_date_with_all_it_holds(tmp_path):
    file = tmp_path / "debrief.sqlite"
    with sqlite3.connect(file) as made:
        made.executescript(GOLDEN.read_text(encoding="utf-8"))
    made.close()
    with SessionStore.open(file) as store:
        assert store.db.version == VERSION > 1
        assert [(item.number, item.get("value")) for item in store.rows()] == [(1, Decimal("6")), (2, Decimal("7.50"))]
        assert store.turns(1)[0].set_aside == ""
        assert store.db.integrity_faults() == []
        assert [turn.index for turn in find_turns(store.db, 1, "tank NEAR five")] == [0]
        assert find_rows(store.db, RowFilter("tank"))[0] == 2
        assert [deed.who for deed in edits.deeds(store.db)] == ["Ida"]


def test_a_newer_store_is_refused(tmp_path):
    with SessionStore.create(tmp_path) as store:
        store.db.connection.execute(f"PRAGMA user_version = {VERSION + 1}")
    with pytest.raises(StoreError, match=f"the store is of version {VERSION + 1}; this program knows versions up to {VERSION}"):
        SessionStore.open(tmp_path)


@pytest.mark.parametrize(("content", "says"), [(b"", None), (b"not a database at all" * 50, "not a session store")])
def test_what_is_no_store_is_refused(tmp_path, content, says):
    (tmp_path / "debrief.sqlite").write_bytes(content)
    if says is None:
        with SessionStore.open(tmp_path) as store:  # an empty file is a store about to be made
            assert store.rows() == []
    else:
        with pytest.raises(StoreError, match=says):
            SessionStore.open(tmp_path)


def test_another_programs_database_is_refused(tmp_path):
    with sqlite3.connect(tmp_path / "other.db") as other:
        other.execute("CREATE TABLE birds (name TEXT)")
    other.close()
    with pytest.raises(StoreError, match="not a session store"):
        SessionStore.open(tmp_path / "other.db")


def test_a_missing_store_is_told(tmp_path):
    with pytest.raises(StoreError, match="no session store here"):
        SessionStore.open(tmp_path)


def test_a_full_disk_is_told_and_leaves_what_was_there(store):
    made = store.begin_pass({}, {}, {})
    store.db.connection.execute(f"PRAGMA max_page_count = {store.db.one('PRAGMA page_count')[0]}")
    big = Segment("r1.0.000001", tuple(Word("word" * 50) for _ in range(5000)), SOURCE)
    with pytest.raises(StoreError, match="the disk is full"):
        store.save_window((made.number, SOURCE, 0), [big])
    assert store.segments(made.number) == []


def test_two_runs_at_once_are_refused(tmp_path):
    with sole_run(tmp_path), pytest.raises(StoreError, match="the store is locked by another run"), sole_run(tmp_path):
        pass
    with sole_run(tmp_path):
        pass


@pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0, reason="becomes another user for a moment, which only root may")
def test_no_permission_is_told(tmp_path):
    with SessionStore.create(tmp_path / "s"):
        pass
    tmp_path.chmod(0o700)
    os.seteuid(65534)
    try:
        with pytest.raises(StoreError, match="cannot be reached: Permission denied"):
            SessionStore.open(tmp_path / "s")
    finally:
        os.seteuid(0)


@pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0, reason="becomes another user for a moment, which only root may")
def test_a_store_in_a_folder_that_cannot_be_written_is_read_and_refuses_edits():
    """The folder lies outside pytest's own, which other users may not enter."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with SessionStore.create(folder) as store:
            a_pass(store, [row(1, "5")])
        folder.chmod(0o755)
        os.seteuid(65534)
        try:
            with SessionStore.open(folder, read_only=True) as store:
                assert values(store) == {1: Decimal("5")}
                with pytest.raises(StoreError, match="no permission to write the store"):
                    edits.accept(store.db, 1, revision(store, 1), "Ida")
            with pytest.raises(StoreError, match="no permission to write the store"):
                SessionStore.open(folder)
        finally:
            os.seteuid(0)


def test_a_word_in_a_seconds_column_is_refused(store):
    with pytest.raises(sqlite3.IntegrityError, match="cannot store TEXT value in REAL column"), store.db.writing():
        store.db.run("INSERT INTO turns (pass, turn, start_s, commentary, attribution) VALUES (1, 0, 'noon', 0, '[]')")


def test_nested_writes_are_one_transaction(store):
    def half() -> None:
        with store.db.writing():
            store.note("title", "half")
            raise RuntimeError("stopped")

    with pytest.raises(RuntimeError, match="stopped"):
        half()
    assert store.noted("title") is None
    assert isinstance(store.db, Database)


# search


@pytest.mark.parametrize(("words", "query"), [
    ("tank", '"tank"'), ("tank press*", '"tank" AND "press"*'), ('"tank pressure" low', '"tank pressure" AND "low"'),
    ("tank NEAR low", 'NEAR("tank" "low", 8)'), ("34.3", '"34 3"'), ("NEAR", '"near"'), ('a" OR b --', '"a" AND "OR" AND "b"'),
])
def test_a_persons_words_become_a_harmless_query(words, query):
    assert as_match(words) == query


@pytest.mark.parametrize("words", ["", "  ", '""', "--;"])
def test_a_query_without_words_is_refused(words):
    with pytest.raises(InputError, match="there is no word to search for"):
        as_match(words)


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=30))
def test_no_text_breaks_the_search(words):
    """Whatever is typed is read as words, or refused in words; SQLite never sees an operator of the user's."""
    with sqlite3.connect(":memory:") as db:
        db.execute("CREATE VIRTUAL TABLE t USING fts5 (text)")
        if any(letter.isalnum() or letter == "_" for letter in words):
            assert db.execute("SELECT * FROM t WHERE t MATCH ?", (as_match(words),)).fetchall() == []
        else:
            with pytest.raises(InputError, match="there is no word to search for"):
                as_match(words)
    db.close()


def test_rows_are_found_by_words_and_filters(store):
    a_pass(store, [row(1, "5"), row(10, "6", "oil level"), row(20, "7")])
    edits.change(store.db, 3, revision(store, 3), {"parameter": "brake pressure"}, "Ida")

    def numbers(**wanted):
        return [item.number for item in find_rows(store.db, RowFilter(**wanted))[1]]

    assert numbers(words="press*") == [1, 3]
    assert numbers(words="brake") == [3]
    assert numbers(words="tank") == [1]
    assert numbers(value_low=6) == [2, 3]
    assert numbers(kinds=("readouts",), from_s=5, to_s=15) == [2]
    assert numbers(certainties=("heard by a person",)) == [3]
    assert numbers(loops=("Radio",)) == []


# erasing


def test_what_is_erased_is_nowhere_in_the_bytes(tmp_path):
    secret = "xylophonic"
    store = SessionStore.create(tmp_path)
    made = store.begin_pass({}, {}, {})
    span = Span.of_seconds(10, 11)
    words = (Word("before", Span.of_seconds(9, 9.5)), Word(secret, span))
    store.save_window((made.number, SOURCE, 0), [Segment("r1.0.000001", words, SOURCE, Span.of_seconds(9, 11))])
    store.save_turns(made.number, [Turn(0, tuple(Token(w.text, w.text, "r1.0.000001", i, w.span) for i, w in enumerate(words)),
                                        source=SOURCE, span=Span.of_seconds(9, 11))])
    store.save_rows(made.number, [row(1, "5"), row(10, "6", secret)])
    edits.change(store.db, 2, revision(store, 2), {"parameter": f"{secret} two"}, "Ida")
    store.sign("Ida")

    def bytes_on_disk() -> bytes:
        return b"".join(file.read_bytes() for file in tmp_path.iterdir())

    assert secret.encode() in bytes_on_disk()
    assert erase(store.db, "Ida", "asked for", [(SOURCE, span)]) == [2]
    assert secret.encode() not in bytes_on_disk()
    assert [item.number for item in store.rows()] == [1]
    assert [word.text for word in store.segments(made.number)[0].words] == ["before", "[erased]"]
    assert erased_places(store.db) == [(SOURCE, span)]
    assert store.seal().broken
    assert store.db.integrity_faults() == []
    assert [item.number for item in store.save_rows(made.number, [row(1, "5"), row(10, "6")])] == [1, 3]
    store.close()


def test_words_that_a_later_reading_took_from_an_earlier_hearing_are_erased_in_both(tmp_path):
    secret, span = "xylophonic", Span.of_seconds(10, 11)
    with SessionStore.create(tmp_path) as store:
        heard = store.begin_pass({}, {}, {})
        store.save_window((heard.number, SOURCE, 0), [Segment("r1.0.000001", (Word(secret, span),), SOURCE, span)])
        store.finish_pass(heard.number)
        again = store.begin_pass({"lexicon": "new"}, {}, {}, heard_in=heard.number)
        store.save_turns(again.number, [Turn(0, (Token(secret, secret, "r1.0.000001", 0, span),), source=SOURCE, span=span)])
        store.save_rows(again.number, [row(1, "5")])
        erase(store.db, "Ida", "asked for", [(SOURCE, span)])
        assert store.turns(again.number)[0].text == "[erased]"
    assert not [file for file in tmp_path.iterdir() if secret.encode() in file.read_bytes()]


def test_nobody_erases_nothing(store):
    with pytest.raises(InputError, match="nobody is named for erasing"):
        erase(store.db, "", "", numbers=[1])


# killed

KILLED = """
import sys
from pathlib import Path
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Segment, Source, Word
from debrief.store import edits
from debrief.store.sessions import SessionStore
store = SessionStore.create(Path(sys.argv[1]))
made = store.begin_pass({}, {}, {})
for index in range(10_000):
    if not store.window_done(made.number, Source("r1"), index):
        store.save_window((made.number, Source("r1"), index), [Segment(f"r1.0.{index:06d}", (Word(f"w{index}"),), Source("r1"))])
        edits.add(store.db, Row("decisions", {"what": Field(str(index))}, (Part("text", "go"),)), "Ida")
        sys.stdout.write(f"{index}\\n")
        sys.stdout.flush()
"""


def test_killed_again_and_again_nothing_confirmed_is_lost(tmp_path):
    confirmed: set[int] = set()  # what was told to be done: a kill between a window and its edit leaves that edit untold
    for wanted in (3, 1, 5):
        with subprocess.Popen([sys.executable, "-c", KILLED, str(tmp_path)], stdout=subprocess.PIPE, text=True) as work:
            confirmed |= {int(work.stdout.readline()) for _ in range(wanted)}
            work.kill()
        with SessionStore.open(tmp_path) as store:
            assert store.db.integrity_faults() == []
            heard = [segment.segment for segment in store.segments(1)]
            assert heard == [f"r1.0.{index:06d}" for index in range(len(heard))]
            assert len(heard) > max(confirmed)
            assert {str(n) for n in confirmed} <= {item.get("what") for item in store.rows()}
            assert len(store.passes()) == 1

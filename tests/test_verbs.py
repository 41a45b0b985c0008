"""The verbs over a finished session, as somebody types them: what they print, what they leave, what they refuse."""
import csv
import io
import json
import re
from dataclasses import replace
from decimal import Decimal

import av
import html5lib
import pytest
from review_session import Size, make_session
from trust_cli import call

from debrief.desk.compare import compared, write_comparison
from debrief.desk.contents import Contents
from debrief.records.rows import Field, Part, Row
from debrief.session import Session
from debrief.store import edits
from debrief.store.sessions import SessionStore
from debrief.timebase import hms


@pytest.fixture
def session(tmp_path):
    return make_session(tmp_path / "winch", Size(30))


@pytest.fixture
def say(monkeypatch, capsys):
    return lambda *words: call(monkeypatch, capsys, *map(str, words), steady=False)


def rows_of(folder):
    with SessionStore.open(folder, read_only=True) as store:
        return {row.number: row for row in store.rows()}


# finding and hearing


def test_search_finds_rows_by_words_and_by_kind(session, say):
    told = say("search", session, "wind", "--kind", "readouts", "--limit", "3")
    lines = told.out.splitlines()
    assert told.code == 0
    assert len(lines) == 4
    assert all("wind speed" in line for line in lines[:3])
    assert lines[-1] == f"{sum(row.get('parameter') == 'wind speed' for row in rows_of(session).values())} rows, the first 3 shown"


def test_search_takes_filters_alone_and_gives_whole_rows(session, say):
    told = say("search", session, "--certainty", "doubtful", "--from", "0:00:10", "--to", "0:00:40", "--least", "30", "--json")
    found = [json.loads(line) for line in told.out.splitlines()]
    wanted = [n for n, row in rows_of(session).items()
              if row.certainty == "doubtful" and 10 <= row.place.start_s <= 40 and row.get("value") >= 30]
    assert [row["number"] for row in found] == wanted != []


@pytest.mark.parametrize(("words", "refusal"), [
    (("--kind", "birds"), "there is no kind 'birds'"), (("--certainty", "sure"), "there is no certainty 'sure'"),
    (("--from", "noon"), "--from 'noon' is no session time"), (('"',), "there is no word to search for in '\"'")])
def test_search_refuses_what_it_cannot_look_for(session, say, words, refusal):
    told = say("search", session, *words)
    assert (told.code, told.err.splitlines()[0]) == (2, refusal)
    assert "What to do:" in told.err


def test_search_in_the_talk_finds_what_gave_no_row(session, say):
    assert say("search", session, "again").out.splitlines()[-1] == "0 rows"
    assert "say again" in say("search", session, '"say again"', "--talk").out


def test_listen_gives_what_fits_and_its_sound(session, say, tmp_path):
    told = say("listen", session, "--minutes", "0.2", "--json", "--sound", tmp_path / "hear.ogg")
    places = [json.loads(line) for line in told.out.splitlines()]
    assert 0 < sum(place["seconds"] for place in places) <= 12
    assert places == sorted(places, key=lambda place: -place["expected_errors"] / place["seconds"])
    with av.open(str(tmp_path / "hear.ogg")) as sound:
        seconds = sum(frame.samples / frame.sample_rate for frame in sound.decode(audio=0))
    assert seconds >= places[-1]["sound_s"]
    assert say("listen", session, "--minutes", "0").err == "0 minutes leave no room for listening\n  What to do: give a number above 0\n"


def test_places_that_a_person_has_heard_leave_the_list(session, say):
    with_rows = [place for place in map(json.loads, say("listen", session, "--json").out.splitlines()) if place["rows"]]
    first = with_rows[0]["rows"][0]["row"]
    say("accept", session, first, "--by", "Ann")
    left = [place["rows"][0]["row"] for place in map(json.loads, say("listen", session, "--json").out.splitlines()) if place["rows"]]
    assert first not in left
    assert len(left) == len(with_rows) - 1


def test_a_row_is_told_whole_with_its_history(session, say):
    say("reject", session, 2, "--by", "Ann", "--note", "only noise")
    told = say("row", session, 2).out
    assert "value = " in told
    assert "r1 channel " in told
    assert "Ann: reject only noise" in told


# changing


def test_change_sets_typed_fields_and_undo_takes_it_back(session, say):
    before = rows_of(session)[1]
    told = say("change", session, 1, "value=4.30", "unit=kN", "--by", "Ann")
    assert told.code == 0
    after = rows_of(session)[1]
    assert (str(after.get("value")), after.fields["value"].origin, after.certainty) == ("4.30", "person", "heard by a person")
    assert say("undo", session, "--by", "Ann").out.startswith("taken back: row 1\n")
    assert rows_of(session)[1] == before


def test_an_edit_on_a_stale_view_is_refused_and_names_who_changed_the_row(session, say):
    say("change", session, 1, "value=4.30", "--by", "Ann")
    told = say("reject", session, 1, "--by", "Bo")
    assert (told.code, told.err.splitlines()[0].startswith(f"{session / 'debrief.sqlite'}: row 1 stands as Ann left it (change, ")) == (2, True)
    revision = int(told.err.rsplit("--seen ", 1)[1])
    assert f"revision {revision}" in say("row", session, 1).out.splitlines()
    assert say("change", session, 1, "unit=N", "--by", "Ann").code == 0  # her own edit is no surprise to her
    told = say("reject", session, 1, "--by", "Bo", "--seen", revision)
    assert (told.code, f"its revision is {revision + 1}, not {revision}" in told.err) == (2, True)
    assert rows_of(session)[1].get("unit") == "N"
    assert say("accept", session, 1, "--by", "Bo", "--seen", revision + 1).code == 0
    assert say("accept", session, 2, "--by", "Bo", "--seen", 10 ** 9).code == 2


def test_a_deed_that_is_named_is_taken_back_whoever_did_it_and_only_once(session, say):
    for number in (1, 2):
        say("reject", session, number, "--by", "Ann")
    deed = re.search(r"deed (\d+), \S+ Ann: reject", say("row", session, 1).out)[1]
    assert say("undo", session, "--by", "Bo", "--deed", deed).out.startswith("taken back: row 1\n")
    assert {1, 2} & rows_of(session).keys() == {1}
    assert "Ann: reject (undone)" in say("row", session, 1).out
    assert say("undo", session, "--by", "Bo", "--deed", deed).err.startswith("there is nothing to undo")


@pytest.mark.parametrize(("words", "refusal"), [
    (("change", "1", "value=about four"), "value is a number, not 'about four'"),
    (("change", "1", "colour=red"), "a row of readouts has no field 'colour'"),
    (("accept", "9999"), "no row has the number 9999"),
    (("undo",), "there is nothing to undo"),
])
def test_edits_that_cannot_be_done_are_refused_in_words(session, say, words, refusal):
    verb, *rest = words
    told = say(verb, session, *rest, "--by", "Ann")
    assert told.code == 2
    assert told.err.startswith(refusal)
    assert "What to do:" in told.err


def test_a_signed_session_carries_the_seal_and_a_later_edit_breaks_it(session, say):
    say("accept", session, 1, "--by", "Ann")
    told = say("sign", session, "--by", "Ann Lead", "--yes")
    assert told.out.startswith("signed by Ann Lead, ")
    page = (session / "sheet.html").read_text(encoding="utf-8")
    assert "<strong>Signed</strong> by Ann Lead" in page
    say("reject", session, 2, "--by", "Ben")
    say("sheet", session, "--no-sound")
    assert "<strong>Seal broken.</strong> Signed by Ann Lead" in (session / "sheet.html").read_text(encoding="utf-8")
    assert say("sign", session, "--by", " ").err == "nobody is named for the sign-off\n  What to do: give your name\n"


@pytest.mark.parametrize(("answer", "code", "signed"), [("n\n", 1, False), ("", 1, False), ("y\n", 0, True)])
def test_signing_what_nobody_heard_says_how_much_and_asks(session, say, monkeypatch, answer, code, signed):
    rows = rows_of(session).values()
    doubtful = sum(row.certainty == "doubtful" for row in rows)
    heard = sum(row.certainty == "heard by a person" for row in rows)
    monkeypatch.setattr("sys.stdin", io.StringIO(answer))
    told = say("sign", session, "--by", "Ann")
    assert told.code == code
    assert told.out.startswith(f"{len(rows)} rows: {heard} heard by a person, {len(rows) - heard} not, of which {doubtful} are doubtful.")
    assert "Sign with rows that nobody heard?" in told.out
    with SessionStore.open(session, read_only=True) as store:
        assert (store.seal() is not None) == signed


def test_signing_what_a_person_heard_whole_asks_nothing(session, say):
    with SessionStore.open(session) as store:
        edits.accept_together(store.db, [(item.row.number, item.revision) for item in edits.all_standing(store.db)], "Ann")
    assert say("sign", session, "--by", "Ann").out.startswith("signed by Ann, ")


def test_erasing_reaches_sheet_tables_and_captions(session, say):
    say("sign", session, "--by", "Ann", "--yes")
    row = rows_of(session)[3]
    told = say("erase", session, "--by", "Ann", "--why", "private", "--from", "0:00:04", "--to", hms(row.place.start_s + 3), "--yes")
    assert told.code == 0
    assert 3 not in rows_of(session)
    with SessionStore.open(session, read_only=True) as store:
        turns = store.turns(store.accepted_pass())
    for path in [*session.glob("*.csv"), session / "transcript.jsonl", session / "sheet.html"]:
        assert str(row.get("value")) not in path.read_text(encoding="utf-8") or any(str(row.get("value")) in turn.text for turn in turns), path
    assert say("erase", session, "--by", "Ann", "--why", "x", "--yes").err.startswith("nothing is named that should be erased")
    assert say("erase", session, "--by", "A", "--why", "x", "--from", "0:00:09", "--to", "0:00:03").err.startswith("--to 0:00:03 is not after")
    assert say("erase", session, "--by", "A", "--why", "x", "--from", "0:00:01", "--to", "0:00:03", "--loop", "Moon").err.startswith("there is no loop 'Moon'")


# taking away


def test_tables_are_written_in_the_forms_asked_for(session, say, tmp_path):
    assert say("tables", session, "csv", "srt", "--out", tmp_path / "out").code == 0
    assert {path.suffix for path in (tmp_path / "out").rglob("*.*")} == {".csv", ".json", ".srt"}
    told = say("tables", session, "pdf")
    assert (told.code, told.err.splitlines()[0]) == (2, "there is no form 'pdf'")


@pytest.mark.parametrize("verb", ["sheet", "tables", "listen", "search", "difference"])
def test_what_is_no_session_is_refused(say, tmp_path, verb):
    told = say(verb, tmp_path / "nothing")
    assert (told.code, told.err.splitlines()[0]) == (2, f"{tmp_path / 'nothing'}: no such folder or file")
    (tmp_path / "store.sqlite").write_bytes(b"")
    told = say(verb, tmp_path / "store.sqlite")
    assert (told.code, told.err.splitlines()[0]) == (2, f"{tmp_path / 'store.sqlite'}: not a session store: the file is empty")


# two passes


def test_difference_names_what_is_new_gone_and_changed(session, say):
    told = say("difference", session)
    assert (told.code, told.err.splitlines()[0]) == (2, "there is only one pass, so nothing to hold it against")
    with SessionStore.open(session) as store:
        rows = store.machine_rows(1)
        changed = rows[0].with_fields(value=Field(Decimal("7.5")))
        extra = replace(rows[1], number=None, kind="identifiers", fields={"value": Field("0042")})
        made = store.begin_pass({"again": "yes"}, {}, {})
        store.save_rows(made.number, [changed, *rows[2:], extra])
        store.finish_pass(made.number)
    lines = say("difference", session).out.splitlines()
    assert lines[-1] == "1 new, 1 gone, 1 changed"
    assert lines[0].startswith("new ")
    assert "0042" in lines[0]
    assert lines[1].startswith("gone ")
    assert f"was: value {rows[0].get('value')}; doubtful" in lines
    gone = next(line for line in lines if line.startswith("gone"))
    assert "a person decided" not in "".join(lines)
    with SessionStore.open(session) as store:
        edits.reject(store.db, 1, edits.standing(store.db, 1).revision, "Ann")
    marked = [line for line in say("difference", session).out.splitlines() if line.endswith("(a person decided this row: that stays)")]
    assert len(marked) == 1
    assert marked[0].startswith("changed ")
    assert gone in say("difference", session).out


# side by side


def reading(kind, at_s, **fields):
    return Row(kind, {name: Field(value) for name, value in fields.items()}, (Part("value", "", start_s=at_s),), number=int(at_s))


def test_ratings_stand_side_by_side_by_axis_and_condition():
    first = [reading("ratings", 1, axis="reach", value=Decimal(3), scale="five", subject="Ann", condition={"hand": "left"}),
             reading("ratings", 2, axis="reach", value=Decimal(9), scale="five", subject="Ann", condition={"hand": "left"}, superseded=True),
             reading("ratings", 3, axis="reach", value=Decimal(2), scale="five", subject="Ben", condition={"hand": "right"})]
    second = [reading("ratings", 4, axis="reach", value=Decimal(5), scale="five", subject="Ann", condition={"hand": "left"})]
    result = compared([Contents(first, Session(title="dry run")), Contents(second, Session(title="wet run"))], ["a", "b"])
    columns, lines = result.ratings
    assert columns == ("A Ann", "A Ben", "B Ann")
    left, right = lines
    assert (left.about, [[item.text for item in cell] for cell in left.cells]) == ("five, hand left", [["3"], [], ["5"]])
    assert (left.changed, left.missing) == (True, frozenset())
    assert (right.changed, right.missing) == (False, {"B"})
    assert (right.alone, left.alone) == (True, False)
    assert result.summary == "2 lines: 1 differ, 0 of them by a value in doubt; 1 are missing somewhere"


def test_a_session_without_ratings_has_its_column_and_nothing_is_called_the_same():
    first = [reading("ratings", 1, axis="reach", value=Decimal(3), scale="five", subject="Ann")]
    columns, (line,) = compared([Contents(first), Contents([])], ["a", "b"]).ratings
    assert columns == ("A Ann", "B no ratings")
    assert (line.missing, line.alone, line.changed) == (frozenset("B"), True, False)


def test_a_value_left_open_differs_from_one_that_is_not_and_doubt_is_told():
    first = [reading("ratings", 1, axis="reach", value=Decimal(3), value_alt=Decimal(4), scale="five", subject="Ann")]
    second = [replace(reading("ratings", 1, axis="reach", value=Decimal(3), scale="five", subject="Ann"), doubt=("barely heard",))]
    result = compared([Contents(first), Contents(second)], ["a", "b"])
    assert (result.ratings[1][0].changed, result.ratings[1][0].doubtful) == (True, True)
    assert result.summary == "1 lines: 1 differ, 1 of them by a value in doubt; 0 are missing somewhere"


def test_readouts_are_matched_by_the_card_that_was_open_where_every_session_has_cards():
    steps = [reading("steps", 1, card="1", step="1a", event="start"), reading("steps", 10, card="2", step="2a", event="start")]
    loads = [reading("readouts", 2, parameter="load", value=Decimal(5)), reading("readouts", 12, parameter="load", value=Decimal(9))]
    other = [reading("readouts", 15, parameter="load", value=Decimal(7))]
    with_cards = compared([Contents([*steps, *loads]), Contents([*steps, *other])], ["a", "b"]).readouts[1]
    assert [(line.about, line.missing) for line in with_cards] == [("card 1", frozenset("B")), ("card 2", frozenset())]
    (without,) = compared([Contents([*steps, *loads]), Contents(other)], ["a", "b"]).readouts[1]
    assert [[item.text for item in cell] for cell in without.cells] == [["5", "9"], ["7"]]


def rating(at_s, value, rater="Ann", **condition):
    return reading("ratings", at_s, axis="reach", value=Decimal(value), scale="five", subject=rater, condition=condition)


def test_raters_of_one_opinion_each_have_not_moved_between_sessions():
    same = [Contents([rating(1, 3), rating(2, 4, "Bo")]), Contents([rating(1, 3), rating(2, 4, "Bo")])]
    (line,) = compared(same, ["a", "b"]).ratings[1]
    assert (line.changed, line.moved) == (True, False)
    (line,) = compared([same[0], Contents([rating(1, 3), rating(2, 5, "Bo")])], ["a", "b"]).ratings[1]
    assert line.moved


def test_what_one_session_leaves_unsaid_does_not_part_it_from_the_other():
    first, second = [rating(1, 3, card="2", step="2b"), rating(2, 4, card="3")], [rating(1, 5, card="2")]
    lines = compared([Contents(first), Contents(second)], ["a", "b"]).ratings[1]
    assert [(line.about, line.missing, line.changed) for line in lines] == [
        ("five, card 2, step 2b (B: step not said)", frozenset(), True), ("five, card 3", frozenset("B"), False)]


@pytest.mark.parametrize("first", [
    [rating(1, 3, card="2", step="2b"), rating(2, 4, card="2", step="2c")],  # which of the two is meant is not known
    [rating(1, 3, card="3", step="3b")],
    [rating(1, 3, card="2", step="2b"), rating(2, 3, card="2")],  # the same words stand in both
])
def test_lines_that_could_be_joined_in_two_ways_or_contradict_stay_apart(first):
    lines = compared([Contents(first), Contents([rating(1, 5, card="2")])], ["a", "b"]).ratings[1]
    assert not [line for line in lines if "not said" in line.about]


def test_a_rating_that_two_of_one_session_could_take_is_left_to_neither():
    lines = compared([Contents([rating(1, 3, card="2", step="2b")]), Contents([rating(1, 5, card="2"), rating(2, 5, step="2b")])], ["a", "b"]).ratings[1]
    assert len(lines) == 3


def test_cards_part_nothing_where_the_sessions_have_none_in_common():
    """One of them missed the step that opens the card."""
    one = [reading("steps", 1, card="1", step="1a", event="start"), reading("steps", 5, card="2", step="2a", event="start"),
           reading("readouts", 6, parameter="load", value=Decimal(5))]
    other = [reading("steps", 1, card="1", step="1a", event="start"), reading("readouts", 6, parameter="load", value=Decimal(5), subject="hoist")]
    (line,) = compared([Contents(one), Contents(other)], ["a", "b"]).readouts[1]
    assert (line.about, line.missing, line.changed) == ("hoist (A: subject not said)", frozenset(), False)


def test_readouts_are_shown_in_one_unit():
    """1 bar = 100 kPa: SI Brochure (BIPM), table 8."""
    first = [reading("readouts", 1, parameter="oil pressure", value=Decimal("300"), unit="kPa")]
    second = [reading("readouts", 2, parameter="oil pressure", value=Decimal("3"), unit="bar"),
              reading("readouts", 3, parameter="oil pressure", value=Decimal("70"), unit="C")]
    (line,) = compared([Contents(first), Contents(second)], ["a", "b"]).readouts[1]
    assert line.unit == "kPa"
    assert [item.text for item in line.cells[1]] == ["300 (3 bar)", "70 C"]
    assert line.cells[1][0].number == 300
    assert line.cells[1][1].number is None


def test_a_comparison_is_one_valid_page_and_a_table(session, say, tmp_path):
    other = make_session(tmp_path / "other", Size(20))
    with SessionStore.open(other) as store:
        store.note("title", "=cmd() <script>")
    told = say("compare", session, other, "--out", tmp_path / "cmp")
    assert told.code == 0
    page = (tmp_path / "cmp" / "compare.html").read_text(encoding="utf-8")
    html5lib.HTMLParser(strict=True).parse(page)
    assert "<svg" in page
    assert "src=" not in page
    lines = list(csv.DictReader(io.StringIO((tmp_path / "cmp" / "compare.csv").read_text(encoding="utf-8"))))
    assert {line["column"] for line in lines} == {"A", "B"}
    assert say("compare", tmp_path / "none", "--out", tmp_path / "x").code == 2


def test_a_comparison_makes_visible_what_would_hide_in_text(tmp_path):
    rows = [reading("readouts", 1, parameter="load \u202eevil", value=Decimal(3), unit="kN")]
    write_comparison(compared([Contents(rows), Contents(rows)], ["a", "b"]), tmp_path)
    page = (tmp_path / "compare.html").read_text(encoding="utf-8")
    assert "load \ufffdevil" in page
    assert "\u202e" not in page

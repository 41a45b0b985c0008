"""No silent wrong number, on talk full of what fools a reader: how many sure rows are wrong, and how many labels a sure row finds.

Floors and ceilings stand a little beside what was measured; both are told together, since marking every row doubtful meets the first alone.
"""
import json
from pathlib import Path

import pytest
from sure_rows import Loop, Tally, count, faults, read_loop, recognised, rows_of, typed

from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.hearing.saved_transcript import read_transcript
from debrief.records.sound import Source
from debrief.session import Session
from debrief.wording.correction import read_all

FOLDER = Path(__file__).parent / "golden" / "sure"
EVERYDAY = FOLDER.with_name("everyday")
LOOPS = tuple(sorted(FOLDER.glob("*.talk")))
MOST_WRONG = {("sure", "typed"): 0.05, ("sure", "recognised"): 0.07, ("everyday", "typed"): 0.08, ("everyday", "recognised"): 0.08,
              ("radio", "typed"): 0.05, ("radio", "recognised"): 0.06, ("broad", "typed"): 0.09, ("broad", "recognised"): 0.08}
EVERY = {"broad": 6, "radio": 3}
"""Of these folders one loop in so many is read here."""
LEAST_RIGHT = {("sure", "typed"): 0.55, ("sure", "recognised"): 0.52, ("everyday", "typed"): 0.45, ("everyday", "recognised"): 0.38,
               ("radio", "typed"): 0.55, ("radio", "recognised"): 0.47, ("broad", "typed"): 0.43, ("broad", "recognised"): 0.37}


def test_loops_hold_enough_labels():
    loops = [read_loop(path) for folder in ("sure", "everyday", "radio", "broad") for path in sorted(FOLDER.with_name(folder).glob("*.talk"))]
    assert len(loops) >= 210
    assert sum(len(loop.labels) for loop in loops) >= 10_000
    assert all(len(list(typed(loop))) == len(list(recognised(loop))) == len(loop.lines) for loop in loops)
    assert sum(loop.as_heard for loop in loops) >= 10
    assert all(loop.styles == ("recognised",) for loop in loops if loop.as_heard)


@pytest.mark.parametrize(("folder", "style"), MOST_WRONG)
def test_sure_rows_are_seldom_wrong_and_many_are_sure(folder, style, tmp_path):
    loops = [loop for path in sorted(FOLDER.with_name(folder).glob("*.talk"))[::EVERY.get(folder, 1)] if style in (loop := read_loop(path)).styles]
    total = sum((count(loop, rows_of(loop, style, tmp_path)) for loop in loops), Tally())
    assert len(total.wrong) / total.sure <= MOST_WRONG[folder, style], "\n".join(total.wrong)
    assert total.right / total.labels >= LEAST_RIGHT[folder, style], "\n".join(total.held)


def test_a_loop_as_heard_is_read_as_it_stands():
    loop = read_loop(EVERYDAY / "coaster.talk")
    assert [json.loads(line)["text"] for line in recognised(loop)] == [text for _, text in loop.lines]


def test_a_number_that_is_no_figure_is_written_as_it_is_said():
    loop = Loop("wedge", [("Crew", "Wedge is at 7/8, gap 1/2 inch.")])
    assert json.loads(next(recognised(loop)))["text"].split()[3].rstrip(",") == "7/8"


def test_a_loop_without_rows_is_neither_wrong_nor_right():
    tally = count(read_loop(LOOPS[0]), [])
    assert (tally.sure, tally.right, tally.wrong) == (0, 0, [])
    assert tally.labels > 0


def test_a_right_value_with_another_class_or_unit_is_wrong(tmp_path):
    loop = read_loop(FOLDER / "hot_fire.talk")
    row = next(row for row in rows_of(loop, "typed", tmp_path) if row.get("unit") and row.get("class") == "measured" and row.kind == "readouts")
    label = next(label for label in loop.labels if label.value == row.get("value") and label.sort == "measured")
    assert not faults(loop, label, row)
    assert faults(loop, label, row.with_fields(**{"class": row.fields["class"].__class__("limit")})) == ["class"]
    assert faults(loop, label, row.with_fields(unit=row.fields["unit"].__class__("m"))) == ["unit"]


def harvested(tmp_path, *lines):
    path = tmp_path / "talk.jsonl"
    path.write_text("".join(f'{{"speaker": "{who}", "text": "{text}"}}\n' for who, text in lines), encoding="utf-8")
    segments = list(read_transcript(path, Source("t1", 0)))
    session = Session()
    return harvest(Talk(cut_turns(segments, read_all(segments, session), session), session))


def doubts(tmp_path, *lines):
    rows = harvested(tmp_path, *lines)
    return {float(row.get("value")): (*row.doubt, *({str(row.get("class"))} - {"measured"})) for row in rows if row.kind == "readouts"}


@pytest.mark.parametrize(("said", "value"), [
    ("Oil pressure was sixty yesterday.", 60), ("Oil pressure was sixty psi on run four.", 60), ("The book said oil pressure sixty psi.", 60),
    ("I was expecting oil pressure sixty psi.", 60), ("Oil pressure needs sixty psi.", 60), ("Oil pressure trips at sixty psi.", 60)])
def test_a_value_of_another_time_source_or_wish_is_in_doubt_or_told_as_such(said, value, tmp_path):
    assert doubts(tmp_path, ("A", said)).get(value, ("no row",))


def test_what_is_no_name_is_in_doubt(tmp_path):
    assert doubts(tmp_path, ("A", "Oil pressure's four bar. We clear out at fifty.")).get(50, ("no row",))


@pytest.mark.parametrize(("said", "value", "unit", "perhaps"), [
    ("Wind eleven metres a second, gust fifteen.", 15, None, "kt"), ("Oil temperature is eighty.", 80, None, "F"), ("Cabin pressure is five.", 5, None, "psi"),
    ("Oil temperature is eighty degrees.", 80, "deg", "C"), ("Suit temp thirty degrees Celsius, oil temp ninety.", 90, "C", None),
    ("Cabin pressure is five psi. Suit pressure three.", 3, "psi", None), ("Pulse is eighty.", 80, "bpm", None), ("Bus voltage is 28.", 28, "V", None)])
def test_a_unit_that_nothing_said_tells_is_left_open(said, value, unit, perhaps, tmp_path):
    row = next(row for row in harvested(tmp_path, ("A", said)) if row.kind == "readouts" and row.get("value") == value)
    assert row.get("unit") == unit
    assert perhaps is None or perhaps in row.fields["unit"].others


@pytest.mark.parametrize("said", ["Oil pressure is sixty psi.", "Oil pressure was sixty psi.", "Oil pressure sixty psi, as on run four."])
def test_a_plain_reading_is_in_no_doubt(said, tmp_path):
    assert doubts(tmp_path, ("A", said))[60] == ()

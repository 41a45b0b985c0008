"""Grounds and reasons in plain words: every one that is counted has its words, and nothing of the counted form comes through to a reader."""
import json
import re
from importlib import resources

import pytest

from debrief.checks import grounds
from debrief.checks.certainty import VETOES
from debrief.checks.forest import shipped_forest
from debrief.desk.plain_grounds import AGAINST, FOR, GRADES, GROUNDS, MEASURED, against, named, plain, plain_all, plain_result, witness

COUNTED = re.compile(r"^(tie|name|value|unit|class|turn|words beside|history|station|correction|weighing|answer|read-back)\b[^;]*: ")
TOLD_BY_KIND = ("kind: ", "plain and named: ", "plain, its name elsewhere: ", "step: ", "time: ")


def calibrated():
    data = json.loads(resources.files("debrief.checks").joinpath("calibration.json").read_text(encoding="utf-8"))
    weighed = {name for groups in data["settings"].values() for model in groups.values() for name in model["weights"]}
    return {name for name in weighed | set(shipped_forest().witnesses) if not name.startswith(TOLD_BY_KIND)}


@pytest.mark.parametrize("name", sorted({*grounds.AGAINST, *grounds.FOR, *VETOES, *calibrated()} - {n for n in grounds.FOR if n.startswith(TOLD_BY_KIND)}))
def test_every_witness_has_words_of_its_own(name):
    told = named(name)
    assert not COUNTED.match(told), told
    assert name in AGAINST or name in FOR or name in MEASURED or name.startswith("tie: "), name


def test_no_name_stands_in_two_tables_and_every_grade_has_both_forms():
    assert not (AGAINST.keys() & FOR.keys() | AGAINST.keys() & MEASURED.keys() | FOR.keys() & MEASURED.keys())
    assert GRADES.keys() >= MEASURED.keys()


@pytest.mark.parametrize(("counted", "told"), [
    ("the witnesses give the row 43%", "right in about 43 of 100 such rows"),
    ("the witnesses give the row 43%; against it: name: a number between, tie: the list goes on",
     "right in about 43 of 100 such rows; against it: another number stands between it and its name, no name said; the list before goes on"),
    ("the witnesses give the row 12%; against it: value: one digit, correction: soon after, of this value",
     "right in about 12 of 100 such rows; against it: a single digit, easily misheard, a correction with this value follows soon after"),
    ("the witnesses give the row 95% all the same", "doubted, but all in all right in 95 of 100 such rows"),
    ("the usual unit of gusts", "unit not said; the usual one of gusts"),
    ("the session file gives oil pressure in bar", "unit not said; the session file gives oil pressure in bar"),
    ("the list goes on", "no name said; the list before goes on"),
    ("jump: 9 bar between 4.1 bar and 4.3 bar", "9 bar is far from the values around it, 4.1 bar and 4.3 bar"),
    ("wrong: 48 deg for 84 deg", "48 deg read back, 84 deg was said"), ("4.3 for 4.8", "4.3 read back, 4.8 was said"),
    ("wrong, then corrected by Summit: 12 bar for 20 bar", "12 bar read back, 20 bar was said; wrong, then corrected by Summit"),
    ("24 from Drive, 42 from Ledger, 3.2 s apart", "Drive says 24, Ledger says 42, 3.2 s apart"),
    ("as first read: jump: 9 between 4 and 4", "as first read: 9 is far from the values around it, 4 and 4"),
    ("95 C is above the limit of 90 C", "95 C is above the limit of 90 C"), ("asked for 5 for 3 turns", "asked for 5 for 3 turns"),
    ("", ""),
])
def test_reasons_are_told_in_plain_words(counted, told):
    assert plain(counted) == told


@pytest.mark.parametrize(("says", "told"), [
    ("wrong: 48 deg for 84 deg", "wrong: 48 deg read back, 84 deg was said"),
    ("line speed: 24 from Drive, 42 from Summit, 3.2 s apart", "line speed: Drive says 24, Summit says 42, 3.2 s apart"),
    ("rope tension: 24.8 kN is below the limit of 30 kN", "rope tension: 24.8 kN is below the limit of 30 kN"),
    ("oil pressure: jump: 9 bar between 4 bar and 5 bar", "oil pressure: 9 bar is far from the values around it, 4 bar and 5 bar")])
def test_what_a_check_says_is_told_in_plain_words(says, told):
    assert plain_result(says) == told


def test_that_no_name_was_said_is_told_once():
    assert plain_all(["the speaker's last parameter", "the parameter is carried", "the usual unit of gusts", "two readings are fair"]) == [
        "no name said; what the speaker told last", "taken from what was said before", "unit not said; the usual one of gusts",
        "its words can be read as two numbers"]
    assert against(["value: one digit", "grounds against"]) == [AGAINST["value: one digit"]]
    assert against(["class: a rate", "class: measured"]) == [AGAINST["class: a rate"]]
    assert against(["grounds against"]) == [AGAINST["grounds against"]]


def test_what_is_told_twice_is_told_once():
    assert against(["unit: not of the plan's kind", "unit: another than the plan's", "unit: not of the plan's kind"]) == [
        AGAINST["unit: not of the plan's kind"], AGAINST["unit: another than the plan's"]]


@pytest.mark.parametrize(("name", "value", "told"), [
    ("word probability", 0.5413, "how well its words were heard, of 1: 0.54"), ("name: in the plan", 1.0, "the plan names it"),
    ("history: far in magnitude", 0.25, "it is far from the size of its other values: 0.25"),
    ("sound", "no sound stands behind it", "sound: no sound stands behind it"),
    ("tie: the list goes on", 1.0, GROUNDS["the list goes on"])])
def test_a_witness_is_told_with_its_number_where_it_is_a_grade(name, value, told):
    assert witness(name, value) == told

"""Clocks as instances, and every call held against them."""
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from clock_talk import clock_rows, talk_of, told

from debrief.checks.clock_model import Beat, ClockRun, clock_runs
from debrief.checks.clocks import CLOCK_CHECKS, offset_and_drift, wall_clock
from debrief.checks.review import Review, run_checks
from debrief.timebase import RecordingClock

START = (0.0, "Lead", "Doors are shut. Mark.")
GOOD = (START, (60.8, "Log", "Doors shut plus one minute."), (120.8, "Log", "Doors shut plus two minutes."),
        (180.8, "Log", "Doors shut plus three minutes."))


def judged(*lines, clocks=None):
    talk = talk_of(*lines)
    review, results = run_checks(Review(clock_rows(talk), talk, clocks=clocks or {}), CLOCK_CHECKS)
    return review.rows, results


def verdicts(rows):
    return [verdict for verdict, in told(rows, "clock_calls", "verdict")]


def says(results, check):
    return [result.says for result in results if result.check == check]


def test_calls_that_fit_are_right():
    rows, results = judged(*GOOD)
    assert verdicts(rows) == ["right"] * 4
    assert says(results, "clocks") == []
    residuals = [residual for residual, in told(rows, "clock_calls", "residual_s")]
    assert residuals[0] is None
    assert all(abs(residual) <= 1 for residual in residuals[1:])


def test_one_call_a_minute_off_is_wrong_and_says_why():
    rows, results = judged(*GOOD, (240.8, "Log", "Doors shut plus three minutes."))
    assert verdicts(rows)[-1] == "wrong"
    assert says(results, "clocks") == ["smoke clock: said 0:03:00, it read 0:04:00"]
    assert results[0].serious
    assert [part.text for part in results[0].look] == ["plus three minutes.", "Mark."]
    wrong = next(row for row in rows if row.get("verdict") == "wrong")
    assert wrong.get("offset_s") == 180
    assert wrong.look == ("smoke clock: said 0:03:00, it read 0:04:00",)


def test_nobody_is_accused_where_the_talk_is_packed():
    rows, results = judged(START, (9, "Log", "Doors shut plus one minute."), (16, "Log", "Doors shut plus four minutes."),
                           (25, "Log", "Doors shut plus nine minutes."))
    assert verdicts(rows) == [None] * 4
    assert says(results, "clocks") == [
        "0 of 3 clock calls fit the recording: its time is not the time of the spoken clocks, so no call is judged"]


def test_a_start_that_was_misheard_accuses_no_call():
    """Both calls of the second run agree with each other and not with its mark: the mark is the odd one."""
    rows, _ = judged(*GOOD, (300, "Lead", "Doors are shut. Mark."), (400.8, "Log", "Doors shut plus one minute."),
                     (460.8, "Log", "Doors shut plus two minutes."), (520, "Lead", "Doors are shut. Mark."),
                     (580.8, "Log", "Doors shut plus one minute."), (640.8, "Log", "Doors shut plus two minutes."),
                     (700.8, "Log", "Doors shut plus three minutes."))
    assert "wrong" not in verdicts(rows)


def test_a_limit_called_late_and_one_called_in_time():
    late = (*GOOD, (200, "Lead", "Mask on, mark."), (350, "Log", "That's the two-minute limit."))
    rows, results = judged(*late)
    assert verdicts(rows)[-1] == "late"
    assert says(results, "clocks") == ["air clock: the limit was due at 0:05:20 and called 29 s late"]
    rows, _ = judged(*GOOD, (200, "Lead", "Mask on, mark."), (321, "Log", "That's the two-minute limit."))
    assert verdicts(rows)[-1] == "right"


def test_holds_stop_the_clock_and_orders_are_not_judged():
    rows, results = judged(
        (0, "Lead", "The count starts at T minus five minutes. Mark."), (63.2, "Log", "T minus four minutes."),
        (93.2, "Lead", "Hold the count, mark."), (99, "Log", "Holding at T minus three thirty."),
        (150, "Lead", "We recycle to T minus four minutes. Recycle."), (200, "Lead", "Picking up the count. Mark."),
        (261.6, "Log", "T minus three minutes."), (321.6, "Log", "T minus two minutes."))
    assert [verdict for verdict in verdicts(rows) if verdict != "order"] == ["right"] * (len(verdicts(rows)) - 2)
    assert says(results, "clocks") == []


def test_a_clock_whose_start_was_not_heard_is_anchored_by_calls_that_agree():
    talk = talk_of((60, "Log", "Doors shut plus one minute."), (120, "Log", "Doors shut plus two minutes."))
    run = clock_runs(clock_rows(talk), talk)["smoke clock"]
    assert [(round(beat.at_s), beat.reading_s) for beat in run.beats] == [(61, 60.0)]


def test_the_wall_clock_from_a_hack_and_clock_times_that_do_not_fit_it():
    clock = {"r1": RecordingClock(start=datetime(2031, 3, 2, 9, 29, 4, tzinfo=UTC), start_uncertainty_s=0.5)}
    lines = ((0, "Lead", "Time hack, it will be zero nine thirty zulu. Three. Two. One. Hack."),
             (60, "Log", "Time is zero nine four one zulu."))
    talk = talk_of(*lines)
    wall = wall_clock(Review(clock_rows(talk), talk, clocks=clock))
    assert wall is not None
    assert abs((wall.at(4.8) - datetime(2031, 3, 2, 9, 30, tzinfo=UTC)).total_seconds()) < 1
    _, results = judged(*lines, clocks=clock)
    assert says(results, "wall clock") == ["the stamp of recording r1 is -51.2 s from the time hack",
                                           "zero nine four one zulu: +604 s from the wall clock"]


def test_no_clock_no_result():
    assert judged((0, "Lead", "Doors are shut and locked."))[1] == []


def test_readings_of_a_run_by_hand():
    run = ClockRun("x", (Beat(10, 0, True), Beat(40, 30, False), Beat(100, 30, True)))
    assert [run.reading(at) for at in (5, 10, 25, 60, 110)] == [None, 0, 15, 30, 40]
    assert run.reaches(35, 200) == 105
    assert run.reaches(500, 20) is None


def test_offset_and_drift_of_a_clock_that_loses_two_seconds_an_hour():
    offset, slope = offset_and_drift([(at, 1.0 - at * 2 / 3600) for at in range(0, 3600, 300)])
    assert slope == pytest.approx(-2.0)
    assert offset == pytest.approx(1.0 - 1650 * 2 / 3600)


def test_readings_are_written_to_clock_events():
    rows, _ = judged(*GOOD, (240, "Lead", "Stop the smoke clock, mark."))
    assert told(rows, "clock_events", "event", "reading_s") == [("start", Decimal("0.0")), ("hold", Decimal("240.4"))]


def test_a_count_whose_start_was_not_heard_still_holds():
    lines = ((60, "Log", "T minus four minutes."), (120, "Log", "T minus three minutes."), (149.2, "Lead", "Hold the count, mark."))
    talk = talk_of(*lines)
    run = clock_runs(clock_rows(talk), talk)["fan count"]
    assert [(round(beat.reading_s), beat.running) for beat in run.beats] == [(-240, True), (-150, False)]


def test_a_reading_that_fits_clears_the_doubt_about_its_unit():
    rows, _ = judged(*GOOD, (240.8, "Log", "Doors shut plus four."))
    last = [row for row in rows if row.kind == "clock_calls"][-1]
    assert (last.get("verdict"), last.certainty) == ("right", "clear")
    assert last.fields["offset_s"].why == ("no unit said", "fits the clock's own time")


def test_a_reading_that_was_heard_and_does_not_fit_is_doubtful():
    talk = talk_of(*GOOD, (240.8, "Log", "Doors shut plus three minutes."))
    rows = [replace(row, witnesses={"word probability": 0.5}) for row in clock_rows(talk)]
    review, _ = run_checks(Review(rows, talk), CLOCK_CHECKS)
    last = [row for row in review.rows if row.kind == "clock_calls"][-1]
    assert (last.get("verdict"), last.certainty) == ("wrong", "doubtful")

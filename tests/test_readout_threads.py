"""Values whose names lie a little further off: things by number, two ways at once, seconds that go on, questions in between.

Talk of an invented winch tower; the ways of saying are common practice, no source.
"""
from decimal import Decimal

import pytest
from readout_rows import talk_of

from debrief.checks.registry import judge
from debrief.harvest import harvest
from debrief.records.rows import Row
from debrief.session import Session
from debrief.wording.spoken_numbers import read_numbers


def rows(*lines: tuple[str, str]) -> list[Row]:
    talk = talk_of(*lines, session=Session())
    review, _ = judge(harvest(talk), talk, sound=False)
    return [row for row in review.rows if row.kind == "readouts"]


def told(*lines: tuple[str, str]) -> list[tuple[str | None, Decimal]]:
    return [(row.get("parameter"), row.get("value")) for row in rows(*lines)]


def test_the_words_of_these_cases_are_read_as_numbers():
    assert [number.value for number in read_numbers("servo 2 is 41".split())] == [2, 41]


@pytest.mark.parametrize(("said", "found"), [
    ("Servo 2 is 41.", [("Servo 2", 41)]),
    ("Hydraulic 1 is 3000, 2 is 2900.", [("Hydraulic 1", 3000), ("Hydraulic 2", 2900)]),
    ("RCS A, 2700 pounds, 78 degrees.", [("RCS A pressure", 2700), ("RCS A temperature", 78)]),
    ("O2 is 540. H2 is 265.", [("O2", 540), ("H2", 265)]),
    ("Source pressure 1450, regulated 295.", [("Source pressure", 1450), ("regulated Source pressure", 295)])])
def test_a_thing_keeps_its_own_name(said, found):
    assert told(("Panel", said)) == found


def test_one_thing_asked_of_many_keeps_its_measure():
    assert told(("Base", "Cell 1 and 3 flows?"), ("Panel", "N2 pressure on fuel cell 1 is 0."))[-1][0] == "N2 pressure fuel cell 1"


def test_from_tells_what_it_was():
    names = [name for name, _ in told(("Panel", "Cabin pressure is 5.6."), ("Panel", "I turned the suit up to 7.5, from 6."))]
    assert names == ["cabin pressure", "suit", "suit"] or names == ["Cabin pressure", "suit", "suit"]


def test_each_way_goes_by_its_own_name():
    assert told(("Pilot", "300 feet, 3 1/2 down, 47 forward."), ("Pilot", "270, down at 4."))[1:3] == [("down", Decimal("3.5")), ("forward", 47)]


def test_seconds_go_on_and_are_no_readings():
    lines = ("Base", "Theta is 32 degrees. 50 seconds. 60."), ("Base", "70. 78, shutdown.")
    assert [value for _, value in told(*lines)] == [32]


def test_a_number_after_a_length_of_time_that_does_not_go_on_is_a_reading():
    assert [value for _, value in told(("Base", "Theta is 32 degrees. 50 seconds. 34."))] == [32, 34]


def test_an_answer_to_another_question_is_no_sure_value_of_what_was_told_before():
    lines = ("Panel", "Main amps 1A is 5.5, 1B 5, 1C 5.5."), ("Base", "You were to be at 5 and a half on cabin. What do you read?"), ("Panel", "5.1.")
    assert rows(*lines)[-1].certainty == "doubtful"
    asked_again = ("Panel", "Main amps 5.5."), ("Base", "And what do you read now?"), ("Panel", "5.1.")
    assert "another reading was asked for" not in str(rows(*asked_again)[-1].fields["parameter"].why)


def test_what_is_read_on_a_thing_is_of_that_thing_and_the_next_value_is_not():
    found = told(("Walker", "I'm reading 3.85 on the suit, 62 percent, no flags."))
    assert found[0] == ("suit", Decimal("3.85"))
    assert found[1][0] != "suit"


def test_minutes_and_seconds_behind_a_plus_are_a_time():
    assert told(("Base", "Press to cutoff at 7 plus 05.")) == []


def test_many_values_told_with_their_verbs_are_no_form_read_up():
    said = "APU 1 EGT is 930, oil in 268, oil out 245. APU 2 EGT's 910, 270, 248. APU 3's 925, 262, 241, 12, 14."
    assert {row.get("class") for row in rows(("Pilot", said))} == {"measured"}


def test_an_answer_is_of_what_was_asked_and_no_height():
    lines = ("Pilot", "Altitude 20,000. Heading 240."), ("Base", "Say fuel for the way home."), ("Pilot", "Fifty four hundred.")
    assert told(*lines)[-1] == ("fuel", 5400)


def test_what_is_thought_of_a_value_is_no_part_of_its_name():
    lines = ("Pilot", "EGTs are 680 left, 695 right, and left oil pressure's a bit low at 38."), ("Base", "Min is 35."), ("Pilot", "37 now.")
    assert [name for name, _ in told(*lines)][-3:] == ["left oil pressure"] * 3


def test_an_altimeter_setting_of_that_size_is_in_inches_of_mercury():
    assert [row.get("unit") for row in rows(("Base", "Altimeter 29.87."))] == ["inHg"]
    assert [row.get("unit") for row in rows(("Base", "QNH 1016."))] == ["hPa"]


def test_places_on_a_clock_face_tell_readings_apart():
    assert told(("Diver", "Gap's about 30 mil at twelve o'clock, 34 at six.")) == [("Gap twelve", 30), ("Gap six", 34)]


def test_one_question_is_answered_once():
    found = told(("Base", "Chamber, pressure please."), ("Chamber", "Two millibar. Shroud's minus 178."))
    assert found == [("pressure", 2), ("Shroud", -178)]


def test_a_mark_out_of_ten_is_no_reading_of_what_was_told_last():
    lines = (("Walker", "Suit pressure is 29.6 kPa. A little cool on the left hand, I'd say a six on the comfort."),
             ("Base", "Rating for the right?"), ("Walker", "Three."))
    assert told(*lines) == [("Suit pressure", Decimal("29.6"))]


def test_delta_v_is_a_measure_of_its_own():
    assert told(("Base", "Estimated delta V of 32 feet per second."))[0][0] == "Estimated delta V"


def test_a_name_that_only_a_unit_gave_stays_doubtful_when_it_goes_on():
    lines = ("Pilot", "It's 60 feet, 50, 46."), ("Pilot", "44 feet now."), ("Pilot", "42 feet.")
    assert {row.certainty for row in rows(*lines)} == {"doubtful"}


def test_a_name_is_used_once():
    assert told(("Medic", "176 on the heart rate, 200 watts for five minutes."))[0] == ("heart rate", 176)
    assert "heart" not in str(told(("Medic", "176 on the heart rate, 200 watts for five minutes."))[1][0])


def test_what_is_asked_for_may_be_followed_by_when():
    lines = ("Medic", "Blood pressure 118 over 76."), ("Base", "Body mass, when you have it."), ("Medic", "68.4, that's down a half from yesterday.")
    assert told(*lines)[2:] == [("Body mass", Decimal("68.4"))]


def test_gauges_by_letter_and_number_do_not_gather():
    assert [name for name, _ in told(("Pilot", "X1 is 0.02, X2 is 0.04, Y1 minus 0.01."))] == ["X1", "X2", "Y1"]


def test_what_dives_is_taken_to_a_depth():
    lines = (("Captain", "Make your depth ninety metres."), ("Planes", "Depth ninety."), ("Engine", "Bearing temp forward 38, aft 41."),
             ("Captain", "Take her to one twenty."))
    found = [(row.get("parameter"), row.get("class")) for row in rows(*lines)]
    assert (found[0], found[-1]) == (("depth", "target"), ("depth", "target"))


def test_a_turn_of_the_road_is_no_value():
    assert told(("Driver", "Brake bias is 57."), ("Driver", "Bit of understeer in 4, and it slides.")) == [("Brake bias", 57)]


def test_places_round_a_pipe_are_no_values():
    asked = ("Base", "Wall thickness at three, six, nine and twelve.")
    assert told(asked) == []
    assert [value for _, value in told(asked, ("Diver", "Three's 18.2. Six, 17.9. Nine, 18.0. Twelve, 16.4."))] == [
        Decimal("18.2"), Decimal("17.9"), Decimal("18.0"), Decimal("16.4")]


def test_a_value_on_another_thing_is_of_that_thing():
    assert told(("Pilot", "Torque 84, 98 on the rotor.")) == [("Torque", 84), ("rotor", 98)]


def test_units_by_what_they_are_told_of():
    found = [(row.get("parameter"), row.get("unit")) for row in rows(
        ("Panel", "Feed flow 3.1 million pounds an hour. Vacuum's 28.4 inches. Bearing four vibration's five point two mils. Bank D's 201."))]
    assert [unit for _, unit in found] == ["lb/h", "inHg", "thou", None]


def test_the_number_of_a_point_is_no_value():
    assert told(("Base", "Hover performance, point one.")) == []
    assert told(("Base", "Pressure, point one.")) == [("Pressure", Decimal("0.1"))]


def test_a_direction_at_knots_is_a_wind_whatever_its_name_was_heard_as():
    assert told(("Tower", "Princess line two four zero at one one knots, and it's steady."))[-1] == ("wind speed", 11)
    assert told(("Ship", "Heading two four zero at one one knots."))[0] == ("heading", 240)

"""Rules of values told in talk: numbers that a recogniser cuts, words of bounds, units that the talk allows, names, lists."""
from decimal import Decimal

import pytest

from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.hearing.saved_transcript import read_transcript
from debrief.records.sound import Source
from debrief.session import Session
from debrief.wording.correction import read_all
from debrief.wording.spoken_numbers import read_numbers


@pytest.mark.parametrize(("said", "values"), [
    ("bearing 2 40", ["240"]), ("depth 142 6", ["142.6"]), ("bottle two 18 50", ["2", "1850"]), ("passing 14 000 feet", ["14000"]),
    ("it reads minus 9 85", ["-985"]), ("coming up 71 77", ["71", "77"]), ("cells 12 10 and 12 15", ["1210", "1215"]),
    ("rears 510 5 20", ["510", "520"]), ("eight hundred nine hundred", ["800", "900"]), ("Fifteen hundred 17 50 easy", ["1500", "1750"]),
    ("ten thousand zero seven twenty three", ["10000", "0723"]), ("two forty's the red", ["240"]),
    ("accelerating 1 60 1 72 1 80", ["160", "172", "180"]), ("climbing 10 2 10 5", ["10.2", "10.5"]), ("source is 3 6 50", ["3650"]),
    ("2 -- 1, mark", ["2", "1"]), ("squawk 1 2 1 4 5 0", ["121450"]), ("Standby One 25, Standby Two 25", ["1", "25", "2", "25"]),
    ("Line heater, one hundred four, bed heater's two hundred ninety six", ["104", "296"])])
def test_numbers_as_recognisers_cut_them(said, values):
    found = [number for number in read_numbers(said.split())]
    assert [number.value for number in found] == [Decimal(value) for value in values]


@pytest.mark.parametrize("said", ["bearing 2 40", "depth 142 6", "number is 18 50", "oil 71 77"])
def test_a_number_cut_in_two_keeps_its_pieces(said):
    assert any(number.pieces and number.others for number in read_numbers(said.split()))


def told(tmp_path, *lines):
    """(parameter, value, unit, class) of each readout."""
    path = tmp_path / "talk.jsonl"
    path.write_text("".join(f'{{"speaker": "{who}", "text": "{text}"}}\n' for who, text in lines), encoding="utf-8")
    segments = list(read_transcript(path, Source("t1", 0)))
    rows = harvest(Talk(cut_turns(segments, read_all(segments, Session()), Session()), Session()))
    return [(row.get("parameter"), str(row.get("value")), row.get("unit"), row.get("class")) for row in rows if row.kind == "readouts"]


@pytest.mark.parametrize(("line", "sort"), [
    ("Design's twenty six bar.", "plan"), ("Alarm's twenty six bar.", "limit"), ("Procedure says less than twenty six bar.", "limit"),
    ("It's meant to be twenty six bar.", "plan"), ("Predict was twenty six bar.", "forecast"), ("Redline's twenty six bar.", "limit")])
def test_words_of_bounds_and_plans_name_no_parameter(line, sort, tmp_path):
    name, value, unit, found = told(tmp_path, ("A", "Penstock pressure is twenty four bar."), ("A", line))[-1]
    assert (name.lower(), value, unit, found) == ("penstock pressure", "26", "bar", sort)


def test_what_is_said_of_a_limit_is_no_part_of_its_name(tmp_path):
    assert told(tmp_path, ("A", "Plank wear allowance is three millimetres.")) == [("Plank wear", "3", "mm", "limit")]


@pytest.mark.parametrize(("line", "unit"), [
    ("Sag's forty millimetres.", "mm"), ("We're nine hundred pounds heavy.", "lb"), ("Stick pull was twelve pounds.", "lbf"),
    ("Altimeter has us at eight forty metres.", "m"), ("Deceleration was four point one metres per second squared.", "m/s2")])
def test_a_unit_word_is_read_as_the_talk_allows(line, unit, tmp_path):
    assert [found[2] for found in told(tmp_path, ("A", line))] == [unit]


def test_a_guessed_parameter_gets_no_unit_that_nobody_said(tmp_path):
    rows = told(tmp_path, ("A", "Oil temperature is one eighty degrees Fahrenheit, fuel ninety gallons."),
                ("B", "Go."), ("A", "It's a long way, adding fifty five."))
    assert [unit for _, value, unit, _ in rows if value == "55"] in ([], [None])


def test_several_things_each_by_its_name_are_a_report(tmp_path):
    rows = told(tmp_path, ("A", "Superheat is plus six, gas is twenty three, air seventeen."))
    assert [(name, value) for name, value, *_ in rows] == [("Superheat", "6"), ("gas", "23"), ("air", "17")]


def test_a_name_said_alone_asks_for_it(tmp_path):
    rows = told(tmp_path, ("A", "hub temps"), ("B", "front left 92 front right 94"))
    assert [(value, "temperature" in name) for name, value, *_ in rows] == [("92", True), ("94", True)]


def test_an_instrument_is_not_what_is_measured(tmp_path):
    rows = told(tmp_path, ("A", "Oil pressure is fifty."), ("A", "Gauge says fifty two."))
    assert rows[-1][0] == "Oil pressure"


@pytest.mark.parametrize("line", ["Thirty pounds in ten minutes, I make it.", "Casing 26 31 35, gas is coming up."])
def test_rates_and_rising_figures_are_no_times(line, tmp_path):
    path = tmp_path / "talk.jsonl"
    path.write_text(f'{{"speaker": "A", "text": "{line}"}}\n', encoding="utf-8")
    segments = list(read_transcript(path, Source("t1", 0)))
    rows = harvest(Talk(cut_turns(segments, read_all(segments, Session()), Session()), Session()))
    assert not [row for row in rows if row.kind == "clock_calls" or (row.kind == "times" and row.get("get"))]


def test_a_count_run_together_is_no_value(tmp_path):
    assert told(tmp_path, ("A", "Ready. 3 2 1 fire.")) == []


def test_no_one_oh_one_corrects_and_numbers_nothing(tmp_path):
    assert [value for _, value, *_ in told(tmp_path, ("A", "Pulse?"), ("B", "One oh four. No, one oh one, he's settling."))] == ["101"]


def test_a_mile_and_a_half_is_one_number(tmp_path):
    assert [(value, unit) for _, value, unit, _ in told(tmp_path, ("A", "The gap is a mile and a half."))] == [("1.5", "mi")]


def test_heights_a_flight_goes_by_are_altitudes(tmp_path):
    rows = told(tmp_path, ("A", "Altitude ten thousand feet, airspeed sixty knots."), ("A", "Passing sixteen thousand."))
    assert rows[-1][:2] == ("altitude", "16000")


def test_as_many_values_as_before_stand_for_the_same_things(tmp_path):
    rows = told(tmp_path, ("A", "Left disc temperature two ten, right disc temperature two sixty."), ("B", "Copy."), ("A", "One ninety, two thirty."))
    assert [name for name, value, *_ in rows if value in ("190", "230")] == ["Left disc temperature", "right disc temperature"]


@pytest.mark.parametrize(("line", "names"), [
    ("Engine oil four point two bar, eighty five degrees.", ["Engine oil pressure", "Engine oil temperature"]),
    ("Field's two ten amps, eighty five volts.", ["Field current", "Field voltage"]),
    ("Guide bearing oil nineteen degrees, pressure one four five.", ["Guide bearing oil temperature", "Guide bearing oil pressure"]),
    ("Suit inlet temperature is up to 64 and pressure is down to 825.", ["Suit inlet temperature", "pressure"]),
    ("Discs are sixty left, sixty four right.", ["left Discs", "right Discs"]),
    ("Seal temps, they're on my side. Upper eighteen, lower sixteen.", ["Upper Seal temperature", "lower Seal temperature"]),
    ("Exhausts. Port three eighty, starboard three ninety five.", ["Port Exhaust", "starboard Exhaust"]),
    ("Loop momentum X fifty one hundred, Y thirty three hundred.", ["Loop momentum X", "Loop momentum Y"])])
def test_things_and_their_quantities_are_put_together(line, names, tmp_path):
    assert [name for name, *_ in told(tmp_path, ("A", line))] == names


@pytest.mark.parametrize("line", ["We allow five twenty.", "We stop at five twenty.", "Not above five twenty.", "It trips at five twenty.",
                                  "Contract's five twenty.", "Slows down at five twenty."])
def test_what_is_allowed_is_a_limit_of_what_was_told(line, tmp_path):
    name, value, _, sort = told(tmp_path, ("A", "Exhaust temperature is four seventy."), ("B", line))[-1]
    assert (name, value, sort) == ("Exhaust temperature", "520", "limit")


def test_a_question_for_a_bound_is_answered_by_a_limit(tmp_path):
    rows = told(tmp_path, ("A", "Exhaust temperature is four seventy."), ("B", "What's your alarm?"), ("A", "Five twenty."))
    assert rows[-1] == ("Exhaust temperature", "520", None, "limit")


def test_a_station_goes_on_with_what_it_mostly_reads_out(tmp_path):
    rows = told(tmp_path, ("Tank", "Tank pressure is ninety five."), ("Tank", "Eighty."), ("Tank", "Sixty."), ("Cabin", "Leak is two."), ("Tank", "Five."))
    assert rows[-1][:2] == ("Tank pressure", "5")


def test_what_was_asked_of_one_station_is_asked_of_another(tmp_path):
    rows = told(tmp_path, ("Lead", "Blue, your depth?"), ("Blue", "One twelve."), ("Lead", "And White?"), ("White", "One oh nine."))
    assert [row[:2] for row in rows] == [("depth", "112"), ("depth", "109")]


def test_words_of_what_was_done_name_nothing(tmp_path):
    assert [name for name, *_ in told(tmp_path, ("A", "Airspeed one eighty."), ("B", "Cleared to two hundred."))] == ["Airspeed", "Airspeed"]


@pytest.mark.parametrize(("line", "name"), [
    ("Tape says nine point three metres from the corner.", "distance from corner"), ("Eight metres under my keel.", "water depth"),
    ("The quantity at the end of the oxygen rate check was down to 62 percent.", "quantity"), ("Pitched down to ten degrees.", "pitch"),
    ("Your right airbrake looks like it's not flush. Maybe a centimetre up.", "right airbrake"),
    ("First anode, frame twelve. It's about sixty percent gone.", "First anode frame twelve")])
def test_names_are_those_a_form_would_give(line, name, tmp_path):
    assert told(tmp_path, ("A", line))[-1][0] == name


def test_casing_trips_is_a_limit_of_the_casing(tmp_path):
    assert told(tmp_path, ("A", "Pump casing is thirty one degrees."), ("A", "Casing trips at sixty."))[-1][::3] == ("Pump casing temperature", "limit")


def test_ordered_then_reached_is_told_twice(tmp_path):
    rows = told(tmp_path, ("A", "Suit pressure one point five."), ("B", "Going to three point five. Two point eight, and three point five."))
    assert [(value, sort) for _, value, _, sort in rows[1:]] == [("3.5", "target"), ("2.8", "measured"), ("3.5", "measured")]


def test_digits_without_their_point_follow_the_last_value_of_their_name(tmp_path):
    rows = told(tmp_path, ("A", "bottom return's at minus 1 point 2 bar"), ("B", "go"), ("A", "return's going minus 1 4 minus 1 7"))
    assert [value for _, value, *_ in rows] == ["-1.2", "-1.4", "-1.7"]


def test_written_without_marks_what_follows_a_list_is_no_count(tmp_path):
    rows = told(tmp_path, ("A", "casing pressure 22 bar"), ("A", "casing 26 31 35 gas is coming up"))
    assert [value for _, value, *_ in rows] == ["22", "26", "31", "35"]


def test_an_engine_is_not_numbered_eighty_eight(tmp_path):
    rows = told(tmp_path, ("A", "Revs twenty two hundred, engine eighty eight, casing's thirty one."))
    assert [value for _, value, *_ in rows] == ["2200", "88", "31"]


@pytest.mark.parametrize(("line", "rows"), [
    ("The cabin's 5.0 on the dot, 71 degrees.", ["cabin", "cabin temperature"]),
    ("Star tracker case is 84 degrees.", ["Star tracker case temperature"]),
    ("Fuel cells. One is at 24 amps, 28.6 volts.", ["One Fuel cell current", "One Fuel cell voltage"]),
    ("Chamber pressure on the last one was 97.", ["Chamber pressure"])])
def test_of_what_a_value_is_told(line, rows, tmp_path):
    assert [name for name, *_ in told(tmp_path, ("A", line))] == rows


def test_nominal_is_a_plan_and_what_follows_is_measured(tmp_path):
    rows = told(tmp_path, ("A", "Chamber pressure is ninety seven psi."), ("B", "Nominal's 100, so 97 is close."))
    assert [(value, sort) for _, value, _, sort in rows][1:] == [("100", "plan"), ("97", "measured")]


def test_knots_are_of_no_depth(tmp_path):
    rows = told(tmp_path, ("A", "we'll start at 2 knots depth under us is 310"))
    assert [(name, value) for name, value, *_ in rows if name == "depth"] == [("depth", "310")]


def test_six_figures_may_be_two_readings(tmp_path):
    rows = told(tmp_path, ("A", "oil temperature 1 6 6 1 6 5"), ("A", "oil temperature 1 6 6 3 0 5"))
    assert [value for _, value, *_ in rows] == ["166", "165", "166305"]

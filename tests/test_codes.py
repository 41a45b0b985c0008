"""Numbers that are codes, dates, money, times of day and labels, and no values."""
import pytest
from readout_rows import rows_of


def told(tmp_path, *lines):
    return [(row.get("parameter"), str(row.get("value"))) for row in rows_of(tmp_path, *lines)]


@pytest.mark.parametrize("said", [
    "They want a squawk of 4127 and contact on 124.3.", "Tower wants you on one one eight decimal six, runway two seven.",
    "Telephone for the Supervisor, extension double four seven.", "All posts, permit two one seven is open.",
    "Last sample, taken zero four ten.", "Log closes at sixteen twenty. Debrief at fourteen thirty in room six.",
    "Beautiful. You owe me five pounds.", "You have bolts one through six on the pump plate.", "Tanks 3 through 10 are full.",
    "Seat two, rate your symptoms, nought to five.", "Breathing effort, one to ten.", "Engine air intake valve, the port one, it shut late.",
    "Unit two was built in nineteen sixty-one.", "Cable six, box two, the yellow plug.", "Cue 41 to cue 46.", "Two of them are playing cards, hand of seven."])
def test_codes_dates_and_money_are_no_values(said, tmp_path):
    assert told(tmp_path, ("A", said)) == []


@pytest.mark.parametrize(("said", "values"), [
    ("The relief valve closes at 1120.", ["1120"]), ("Boron is eighty parts per million.", ["80"]), ("Oil pressure 124.3.", ["124.3"]),
    ("Main ammeter No. 1 is 19, No. 2 is, stand by.", ["19"]), ("Vibration, the 4 per rev's 0.21 in the cabin.", ["0.21"]),
    ("Gauge one, sixty-two microstrain. Gauge two, sixty-five. Three, fifty-eight. Four, twenty.", ["62", "65", "58", "20"]),
    ("Tanks for the log. One, ten percent. Two, sixty.", ["10", "60"]), ("Bearing temperatures. Three and four both fifty-five.", ["55"]),
    ("Oil pressure is 25, 35, 45.", ["25", "35", "45"]), ("We slid two metres thirty.", ["2.30"]), ("Depth is two metres, 30 on the tape.", ["2", "30"])])
def test_the_values_beside_them_stay(said, values, tmp_path):
    assert [value for _, value in told(tmp_path, ("A", said))] == values


def test_whose_a_value_is_names_no_other_value(tmp_path):
    found = told(tmp_path, ("A", "Pulses?"), ("B", "Eighty eight for one, ninety five for two, a hundred and twenty for three."))
    assert [(name.lower(), value) for name, value in found] == [("pulse", "88"), ("pulse", "95"), ("pulse", "120")]

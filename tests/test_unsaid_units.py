"""Units of values: what the list at hand, the plan or the words beside a value tell of them, and what is left open where nobody said."""
import pytest

from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.records.sound import Segment, Source, Word
from debrief.session import Session
from debrief.wording.correction import read_as


def row_of(value, *lines, session=None):
    """The last readout with this value, of lines 'Station: words'."""
    plan = session or Session()
    segments = [Segment(f"r1.0.{i:06d}", tuple(Word(w) for w in line.split(": ", 1)[1].split()), Source("r1"), speaker=line.split(": ", 1)[0],
                        line_index=i) for i, line in enumerate(lines)]
    talk = Talk(cut_turns(segments, {s.segment: read_as(s) for s in segments}, plan), plan)
    found = [row for row in harvest(talk) if row.kind == "readouts" and float(row.get("value")) == value]
    assert found, f"{value} is no readout of {lines}"
    return found[-1]


@pytest.mark.parametrize(("value", "unit", "lines"), [
    (14, "ft", ["A: Bell's at ten feet, twelve, fourteen."]),
    (14, None, ["A: Bell depth ten feet.", "B: Copy ten.", "A: Fourteen."]),
    (85, "kt", ["A: Speed ninety knots.", "B: Go on.", "A: Speed eighty five."]),
    (41, None, ["A: Bow thruster 35 percent, azimuth port 41."]),
])
def test_a_unit_goes_on_in_its_own_list_alone(value, unit, lines):
    assert row_of(value, *lines).get("unit") == unit


@pytest.mark.parametrize(("value", "unit", "lines"), [
    (6, "mL/h", ["A: Pump one is running at 6 mils an hour."]),
    (250, "mL", ["A: Fluids so far, 250 mils of saline."]),
    (4, "thou", ["A: Vibration's four mils."]),
    (-8, "mmH2O", ["A: Draught's minus eight millimetres water gauge."]),
    (810, "BTU/h", ["A: Heat rejection's 810 BTU an hour."]),
    (0.5, "mg", ["A: Atropine dose is half a milligram."]),
    (22, "/min", ["A: Respiration's 22 breaths a minute."]),
    (62, "spm", ["A: Pump's at 62 strokes a minute."]),
])
def test_a_unit_is_what_the_words_beside_it_make_it(value, unit, lines):
    assert row_of(value, *lines).get("unit") == unit


@pytest.mark.parametrize(("value", "name", "unit", "lines"), [
    (6, "Cabin angle", "deg", ["A: Cabin swung six degrees."]),
    (10, None, "deg", ["A: Motor temperature 24 degrees.", "A: Swing 10 degrees."]),
    (38, "Lub oil temperature", "C", ["A: Lub oil one point two bar, ten inches of vacuum.", "A: Lub oil thirty eight degrees."]),
    (7, "", "deg", ["A: 7 degrees down here."]),
    (850, "engine speed", None, ["A: Speed sixty kilometres an hour, engine speed eight fifty."]),
    (1.2, "wind speed", "m/s", ["A: Wind speed one point two metres."]),
    (40, "rudder force", "lbf", ["A: Rudder's forty pounds."]),
    (300, "cabin altitude rate", None, ["A: Cabin altitude 1,500 feet, coming down 300 a minute."]),
])
def test_degrees_pounds_and_rates_are_of_what_their_words_say(value, name, unit, lines):
    row = row_of(value, *lines)
    assert row.get("unit") == unit
    assert name is None or str(row.get("parameter") or "").lower() == name.lower()
    assert name is not None or "temperature" not in str(row.get("parameter") or "")


@pytest.mark.parametrize(("value", "unit", "said"), [
    (40, "mm", "Sag's forty mil left."), (2, "thou", "Vibration's two mil."), (4, "inH2O", "Draught's four inches."), (20, "inHg", "Vacuum's twenty inches."),
])
def test_mils_and_inches_are_of_what_is_measured_so(value, unit, said):
    assert row_of(value, f"A: {said}").get("unit") == unit


@pytest.mark.parametrize(("value", "unit", "lines"), [
    (0.04, None, ["A: Roll rate's point zero four."]),
    (30, None, ["A: Wave maker to forty centimetres.", "B: Waves are thirty."]),
    (69, None, ["A: Attitude control motor 69."]),
    (25000, "ft", ["A: Altitude's twenty five thousand feet in the chamber."]),
    (22, None, ["A: Resp rate 22."]),
])
def test_what_is_told_in_several_units_is_left_open(value, unit, lines):
    plan = Session.model_validate({"cards": [{"id": "1", "title": "Ward", "readouts": [{"what": "heart rate", "unit": "bpm", "also_called": ["rate"]}]}]})
    assert row_of(value, *lines, session=plan).get("unit") == unit


def test_a_cylinder_head_has_no_heading():
    assert "heading" not in str(row_of(152, "A: Cylinder head one fifty two.").get("parameter"))

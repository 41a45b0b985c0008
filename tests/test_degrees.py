"""Degrees of an angle or of heat, the scale by the talk, what runs warm, a flow told by its amount."""
from decimal import Decimal

import pytest
from readout_rows import rows_of

from debrief.harvest.degrees import sense


@pytest.mark.parametrize(("name", "value", "kind"), [
    ("Hot blast", 960, "temperature"), ("Gearbox oil", 85, "temperature"), ("Lift", 400, "temperature"), ("Rudder", 15, "angle"), ("Longitude", -16500, "angle"),
    ("Bubble", 2, "angle"), ("Heading", 270, "angle"), ("Bearing", 56, "both"), ("Track", 36, "both"), ("Marker", 40, None)])
def test_degrees_are_of_heat_or_of_an_angle_by_what_they_are_told_of(name, value, kind):
    assert sense(name.split(), Decimal(value)) == kind


def one(tmp_path, said, value):
    return next(row for row in rows_of(tmp_path, *said) if row.get("value") == value)


@pytest.mark.parametrize(("said", "value", "name", "unit"), [
    ([("A", "Load's two tonnes, a hundred feet up. Hot blast's at nine sixty degrees.")], 960, "hot blast temperature", "C"),
    ([("A", "Fuel's two hundred pounds. Hot blast's at nine sixty degrees.")], 960, "hot blast temperature", "deg"),
    ([("A", "Inverters are 118 and 127 degrees.")], 127, "inverter", "deg"),
    ([("A", "The fan bearing is running warm, sixty eight.")], 68, "fan bearing temperature", None),
    ([("A", "Rudder's fifteen degrees.")], 15, "rudder angle", "deg")])
def test_the_scale_is_of_the_talk_and_never_an_angle(said, value, name, unit, tmp_path):
    row = one(tmp_path, said, value)
    assert (str(row.get("parameter")).lower(), row.get("unit")) == (name, unit)


@pytest.mark.parametrize(("said", "value", "doubted"), [
    ("Marker's at forty degrees.", 40, True), ("Bearing's fifty six degrees.", 56, True), ("Bearing two seven zero degrees.", 270, False),
    ("Marker's at forty degrees left.", 40, False), ("Oil temperature's forty degrees.", 40, False), ("Rudder's fifteen degrees.", 15, False)])
def test_what_may_turn_or_get_warm_is_in_doubt(said, value, doubted, tmp_path):
    assert bool([why for why in one(tmp_path, [("A", said)], value).doubt if "heat" in why]) == doubted


def test_a_flow_told_by_its_amount_has_the_unit_it_had_and_else_says_so(tmp_path):
    said = [("A", "Cooling flow is fourteen litres a minute."), ("B", "Copy."), ("A", "Cooling flow dropped to eleven litres.")]
    assert one(tmp_path, said, 11).get("unit") == "L/min"
    unit = one(tmp_path, [("A", "Cooling flow dropped to eleven litres.")], 11).fields["unit"]
    assert (unit.value, unit.certainty) == ("L", "doubtful")

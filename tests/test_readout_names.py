"""What a value is said to be of: names as a form would put them, and what the plan's open card lends. Talk of an invented tower trial."""
from decimal import Decimal

import pytest
from readout_rows import talk_of

from debrief.harvest import harvest
from debrief.session import Session

PLAN = Session.model_validate({
    "units": {"pressure": "bar"},
    "stations": [{"name": "Lead", "role": "test director"}, {"name": "Panel", "role": "panel operator"}, {"name": "Mast", "role": "rigger"}],
    "scales": [{"name": "ease", "low": 1, "high": 5}],
    "cards": [{"id": "1", "title": "Fill", "steps": [{"id": "1a", "text": "fill to 3.5 bar"}],
               "readouts": [{"what": "tank pressure", "unit": "bar"}, {"what": "cable out", "unit": "m", "subject": "Mast"}]}],
    "limits": [{"what": "wind speed", "unit": "m/s", "max": 9}],
})


def told(*lines: tuple[str, str], session: Session = PLAN) -> list[tuple]:
    return [(row.get("parameter"), row.get("value"), row.get("unit")) for row in harvest(talk_of(*lines, session=session)) if row.kind == "readouts"]


@pytest.mark.parametrize(("said", "parameter"), [
    ("Amps 27.", "current"), ("All voltages are 25.", "voltage"), ("Waves are nought point three metres.", "wave height"),
    ("Nose is up three degrees.", "pitch"), ("Booster separates, two g.", "acceleration")])
def test_a_unit_or_a_thing_gives_way_to_what_is_measured(said, parameter):
    names = [name for name, _, _ in told(("Panel", said), session=Session())]
    assert names
    assert parameter in names[0]


def test_what_a_step_asks_for_names_the_value_and_never_supplies_it():
    assert told(("Lead", "Card one. Step one alpha, bring it up to three point five."))[-1][:2] == ("tank pressure", Decimal("3.5"))
    assert told(("Lead", "Card one. Step one alpha, bring it up.")) == []


def test_the_open_card_names_the_only_parameter_in_a_unit():
    assert told(("Lead", "Card one, fill."), ("Mast", "You have twelve metres.")) == [("cable out", Decimal(12), "m")]


def test_a_limit_told_with_if_it_goes_over():
    lines = ("Panel", "Tank pressure two point one bar."), ("Lead", "Shout if it goes over four.")
    assert told(*lines) == [("tank pressure", Decimal("2.1"), "bar"), ("tank pressure", Decimal(4), "bar")]


def test_winds_are_told_in_the_unit_of_the_plan():
    assert told(("Panel", "Wind three one zero at five, gusting six point five.")) == [
        ("wind direction", Decimal(310), "deg"), ("wind speed", Decimal(5), "m/s"), ("wind gust", Decimal("6.5"), "m/s")]


def test_the_ends_of_a_scale_are_no_reading():
    assert told(("Panel", "Tank pressure two point one bar."), ("Lead", "Mast, the one to five, please."))[1:] == []


def test_a_value_told_back_with_its_figures_swapped_is_no_reading():
    assert len(told(("Panel", "Heading zero eight five."), ("Lead", "Heading zero five eight."))) == 1

"""Relations and orders that the session names, units mixed up, a reference run."""
from decimal import Decimal

import pytest

from debrief.checks.relations import changed_since_reference, relations, unit_mix_up
from debrief.checks.review import Review
from debrief.errors import SessionFileError
from debrief.harvest.talk import Talk
from debrief.records.rows import Field, Part, Row
from debrief.session import Relation, Session, load_session


def readout(turn, what, value, unit="C", **more):
    fields = {"parameter": Field(what), "value": Field(Decimal(str(value))), "unit": Field(unit)} | {k: Field(v) for k, v in more.items()}
    return Row("readouts", fields, (Part("value", str(value), start_s=10.0 * turn),), turn=turn)


def says(check, *rows, session=None, reference=()):
    return [result.says for result in check(Review(rows, Talk((), session or Session()), reference=reference)).results]


def related(**given):
    return Session(relations=(Relation(**given),))


DEW = related(kind="dew point", of="dew point", from_=("air temperature", "humidity"), tolerance=0.5)


def test_a_dew_point_that_fits_is_left_alone_and_a_wrong_one_is_told():
    """20 C and 50 % give 9.3 C (dew point charts, from memory; the formula is that of WMO-No. 8, Annex 4.B)."""
    given = (readout(1, "air temperature", 20), readout(2, "humidity", 50, "percent"))
    assert says(relations, *given, readout(3, "dew point", 9.3), session=DEW) == []
    assert says(relations, *given, readout(3, "dew point", 12.1), session=DEW) == [
        "dew point: 12.1 where air temperature 20 and humidity 50 give 9.255"]


def test_a_dew_point_in_fahrenheit_is_held_against_one_in_fahrenheit():
    """20 C and 50 % give 9.255 C, 48.66 F."""
    given = (readout(1, "air temperature", 68, "F"), readout(2, "humidity", 50, "percent"))
    assert says(relations, *given, readout(3, "dew point", 48.7, "F"), session=DEW) == []
    assert says(relations, *given, readout(3, "dew point", 55, "F"), session=DEW) == ["dew point: 55 where air temperature 68 and humidity 50 give 48.66"]


@pytest.mark.parametrize(("warm", "dew"), [(None, "C"), ("C", None), ("deg", "deg")])
def test_without_the_scale_of_a_temperature_a_dew_point_is_not_judged(warm, dew):
    given = (readout(1, "air temperature", 20, warm), readout(2, "humidity", 50, "percent"))
    assert says(relations, *given, readout(3, "dew point", 19, dew), session=DEW) == []


def test_parts_in_other_units_are_converted_and_of_other_kinds_not_added():
    session = related(kind="sum", of="total fuel", from_=("left tank", "right tank"), tolerance=1)
    assert says(relations, readout(1, "left tank", 40, "kg"), readout(2, "right tank", 0.038, "t"), readout(3, "total fuel", 78, "kg"), session=session) == []
    assert says(relations, readout(1, "left tank", 40, "kg"), readout(2, "right tank", 38, "L"), readout(3, "total fuel", 200, "kg"), session=session) == []


def test_a_sum_of_parts():
    session = related(kind="sum", of="total fuel", from_=("left tank", "right tank"), tolerance=1)
    parts = (readout(1, "left tank", 40, "L"), readout(2, "right tank", 38, "L"))
    assert says(relations, *parts, readout(3, "total fuel", 78, "L"), session=session) == []
    assert says(relations, *parts, readout(3, "total fuel", 87, "L"), session=session) == [
        "total fuel: 87 where left tank 40 and right tank 38 give 78"]


def test_without_all_its_parts_within_two_minutes_a_relation_says_nothing():
    assert says(relations, readout(1, "air temperature", 20), readout(3, "dew point", 19), session=DEW) == []
    assert says(relations, readout(1, "air temperature", 20), readout(2, "humidity", 50, "percent"), readout(30, "dew point", 19), session=DEW) == []


def test_fuel_only_falls():
    session = related(kind="falls", of="fuel")
    rows = [readout(i, "fuel", value, "L") for i, value in enumerate((31, 30, 33, 29))]
    assert says(relations, *rows, session=session) == ["fuel: 33 after 30: fuel only falls"]


def test_psi_told_as_kilopascals():
    """3.7 psi are 25.5 kPa (NIST SP 811: 1 psi = 6.894757 kPa)."""
    rows = [readout(i, "suit pressure", value, "kPa") for i, value in enumerate((25.5, 25.4, 3.7, 25.6))]
    assert says(unit_mix_up, *rows) == ["suit pressure: 3.7 beside its usual 25.5: psi told as kPa?"]


def test_a_plain_jump_is_no_unit_mix_up():
    assert says(unit_mix_up, *(readout(i, "suit pressure", value, "kPa") for i, value in enumerate((25.5, 25.4, 12.0, 25.6)))) == []


def test_changed_since_the_reference_run():
    reference = (readout(1, "hoist load", 10, "kN"),)
    assert says(changed_since_reference, readout(1, "hoist load", 11, "kN"), reference=reference) == []
    assert says(changed_since_reference, readout(1, "hoist load", 13, "kN"), reference=reference) == [
        "hoist load: 13 where the reference run had 10"]


def test_a_relation_without_its_parts_is_refused(tmp_path):
    file = tmp_path / "session.toml"
    file.write_text('[[relations]]\nkind = "dew point"\nof = "dew point"\nfrom = ["temperature"]\n', encoding="utf-8")
    with pytest.raises(SessionFileError, match="the relation of 'dew point' has too few or too many parts") as told:
        load_session(file)
    assert "dew point: temperature and humidity, in this order" in str(told.value)

"""Values of which it cannot be known what they are of: each ground on talk that has it and on its plain neighbour."""

import pytest
from readout_rows import rows_of


def doubts(tmp_path, value, *lines):
    """Grounds of doubt of the readout with this value. lines: (speaker, text)."""
    return next(row.doubt for row in rows_of(tmp_path, *lines) if str(row.get("value")) == value)


TOLD = ("B", "Oil temperature's seventy one, coolant temperature's seventy nine.")


@pytest.mark.parametrize(("ground", "value", "said", "plain"), [
    ("perhaps the number of a thing", "1107", [("A", "Cast one one oh seven. Blast nine sixty.")], [("A", "Blast is one one oh seven, dome nine sixty.")]),
    ("perhaps the number of a thing", "2", [("A", "Pressure's eight point seven five bar on dial two.")], [("A", "Pressure's eight bar, dial reads two.")]),
    ("perhaps what is done at this value", "55", [("A", "Whistle at fifty five.")], [("A", "Oil pressure at fifty five.")]),
    ("perhaps what is done at this value", "65", [("A", "Level at sixty five.")], [("A", "Level's at sixty five.")]),
    ("perhaps what it was read off", "19.8", [("A", "Weighbridge ticket says nineteen point eight tonnes.")],
     [("A", "Truck weight is nineteen point eight tonnes.")]),
    ("put right in the same breath", "35", [("A", "Gas pressure is thirty five. No, sorry, gas two is down by twenty five.")],
     [("A", "Gas pressure is thirty five. No change. Oil temperature is twenty five.")]),
    ("put right in the same breath", "2.98", [("A", "Squib is two point nine eight... zero point nine eight, excuse me.")],
     [("A", "Squib is two point nine eight... zero point nine eight on the other.")]),
    ("perhaps its point was left out", "85", [("A", "Oil pressure's eight-five.")], [("A", "Oil pressure's eighty-five.")]),
    ("said again in full right behind", "3", [("A", "Speed's three... three point four.")], [("A", "Speed's three... four point four.")]),
    ("another quantity that this station told fits it as well", "75", [TOLD, ("A", "Go on."), ("B", "Seventy five.")],
     [("B", "Oil temperature's seventy one, coolant pressure's twelve."), ("A", "Go on."), ("B", "Seventy five.")])])
def test_what_cannot_be_known_is_said(ground, value, said, plain, tmp_path):
    assert ground in doubts(tmp_path, value, *said)
    assert ground not in doubts(tmp_path, value, *plain)

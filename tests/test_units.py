"""Units: kinds of pressure are kept as they were said and never compared with one another."""
from decimal import Decimal

import pytest

from debrief.units import canonical, compatible, convert, dimension_of, joined_unit, pressure_kind, read_unit


@pytest.mark.parametrize(("said", "unit", "kind"), [
    ("psi", "psi", None), ("psia", "psia", "absolute"), ("psi absolute", "psia", "absolute"), ("p s i g", "psig", "gauge"), ("psi gauge", "psig", "gauge"),
    ("pounds per square inch gauge", "psig", "gauge"), ("psid", "psid", "differential"), ("bar gauge", "barg", "gauge"), ("bar", "bar", None)])
def test_the_kind_of_a_pressure_is_kept_as_it_was_said(said, unit, kind):
    reading = read_unit([*said.split(), "now"], 0)
    assert (reading.name, reading.end, pressure_kind(reading.name), dimension_of(reading.name)) == (unit, len(said.split()), kind, "pressure")
    assert canonical(said.upper()) == unit


def test_a_kind_written_against_figures_is_read():
    assert joined_unit("14.7psia") == "psia"


@pytest.mark.parametrize(("one", "other", "fits"), [
    ("psia", "psig", False), ("psig", "psid", False), ("psia", "barg", False), ("psia", "psi", True), ("psi", "psig", True), ("psia", "bara", True),
    ("psig", "kPa", True), ("psia", "V", False), ("psia", None, False), ("grommets", "grommets", True)])
def test_kinds_of_pressure_are_never_compared(one, other, fits):
    assert compatible(one, other) is fits
    assert compatible(other, one) is fits


def test_one_kind_is_never_turned_into_another():
    assert convert(Decimal(5), "psia", "kPa") == Decimal("34.473785")  # 6.894757 kPa a psi: NIST SP 811, table B.8
    with pytest.raises(ValueError, match="cannot turn psia"):
        convert(Decimal(5), "psia", "psig")

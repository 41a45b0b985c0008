"""Values that only say again what another has just said are none of their own."""
import pytest
from readout_rows import rows_of

RAISED = ("A", "Raise the crown pressure to 2.5.")


def last(tmp_path, *lines):
    """Values told in the last line."""
    rows = rows_of(tmp_path, *lines)
    return [str(row.get("value")) for row in rows if row.turn == len(lines) - 1]


@pytest.mark.parametrize(("lines", "left"), [
    ([("A", "Can you hold the cabin pressure under 3,000?"), ("B", "Under 3,000, no problem. Oil pressure's 26 psi.")], ["26"]),
    ([("A", "Oil pressure is 190. Call me if it's below 180."), ("B", "Below 180, wilco.")], []),
    ([("A", "Pressure 108 bar."), ("B", "I see the same on the link, 108, and oil temperature 96.")], ["96"]),
    ([("A", "Airspeed one nine zero then hold."), ("B", "One nine five, then hold."), ("A", "Negative. One nine zero.")], []),
    ([("A", "Pump pressure is 168 bar. Bearing temperature fifty-one."), ("B", "I copy one six eight bar and sixty-one degrees.")], []),
    ([("A", "Stop at pressure under eighty, temperature over one fifty."), ("B", "Eighty, one fifty.")], []),
    ([("A", "Driver, charge the pressure to five bar."), ("B", "Charging to five bar.")], []),
    ([RAISED, ("B", "Going to 2.5.")], []),
    ([RAISED, ("B", "2.5. Slurry feed pressure eight hundred.")], ["800"])])
def test_what_was_just_said_is_not_told_anew(lines, left, tmp_path):
    assert last(tmp_path, *lines) == left


@pytest.mark.parametrize(("lines", "left"), [
    ([RAISED, ("B", "Copy, crown pressure is 2.5.")], ["2.5"]), ([("A", "Is the oil pressure 40?"), ("B", "Negative, oil pressure is 45.")], ["45"]),
    ([("A", "Oil pressure 130."), ("B", "Roger, oil pressure 131, water temperature 40.")], ["131", "40"])])
def test_a_reading_of_ones_own_stays(lines, left, tmp_path):
    assert last(tmp_path, *lines) == left

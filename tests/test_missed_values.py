"""Plain values that were taken for times, counts, names or read-backs, and are told."""
import pytest
from readout_rows import rows_of


def told(tmp_path, *lines):
    return [(str(row.get("parameter")).lower(), str(row.get("value")), row.get("class")) for row in rows_of(tmp_path, *lines)]


@pytest.mark.parametrize(("lines", "last"), [
    ([("A", "Chamber pressure 600. 400. 250."), ("B", "Hold at 250.")], ("chamber pressure", "250", "target")),
    ([("A", "Visor heater is 11 watts."), ("B", "Take it to 16."), ("A", "16.")], ("visor heater", "16", "target")),
    ([("A", "Bank A position is at 225 steps.")], ("bank a position", "225", "measured")),
    ([("A", "If module pressure goes under 735 close the vent and call us.")], ("module pressure", "735", "limit")),
    ([("A", "Pressure is 745."), ("B", "Call me if it's below 700.")], ("pressure", "700", "limit")),
    ([("A", "Level is plus forty. Level's swelled to plus ninety.")], ("level", "90", "measured")),
    ([("A", "Depth 22 17 15")], ("depth", "15", "measured")), ([("A", "NR 100.")], ("nr", "100", "measured")),
    ([("A", "Left mag drop 90.")], ("left mag drop", "90", "measured")), ([("A", "Load cell 184. Cable 12, 20, 28.")], ("cable", "28", "measured")),
    ([("A", "Depth fifty metres. Ratio, point two.")], ("ratio", "0.2", "measured")),
    ([("A", "Heart rate over one fifty or under forty.")], ("heart rate", "40", "limit")),
    ([("A", "Haul rope tension here 91.")], ("haul rope tension", "91", "measured")),
    ([("A", "Residual motion?"), ("B", "9. 8. Settled at 7.")], ("residual motion", "7", "measured"))])
def test_it_is_told(lines, last, tmp_path):
    assert told(tmp_path, *lines)[-1] == last


@pytest.mark.parametrize("lines", [
    [("A", "Set heading zero eight five."), ("B", "Heading zero five eight.")], [("A", "Take it to 16."), ("B", "16.")],
    [("A", "Ride's an 8, and the helm's gone to a 5.")],
    [("A", "Left surface plus nineteen.")], [("A", "We have three divers at the door.")], [("A", "Get is 04 32 28.")]])
def test_orders_read_back_counts_and_times_are_no_readings(lines, tmp_path):
    assert not [row for row in told(tmp_path, *lines) if row[2] == "measured"]

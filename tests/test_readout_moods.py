"""What a sentence does with its value: order, step of a card, bound, plan, forecast, or a reading; cases of no one trade."""

import pytest
from readout_rows import rows_of


def sort_of(tmp_path, said, value, told="Oil pressure's seventy psi, oil temperature eighty degrees C."):
    rows = rows_of(tmp_path, ("A", told), ("B", "Copy that."), ("B", said))
    return [row.get("class") for row in rows if float(row.get("value")) == value]


@pytest.mark.parametrize(("said", "value"), [
    ("Pump to sixty psi.", 60), ("Item two, pressurise to sixty psi and hold there.", 60), ("Start them at sixty psi.", 60), ("Cap it at sixty psi.", 60),
    ("Back the pressure off to sixty psi.", 60), ("Bring number two down to sixty psi and purge it.", 60), ("Oil pressure to sixty psi.", 60),
    ("Up to sixty psi.", 60), ("Climbing to sixty metres.", 60), ("We want the oil pressure at sixty psi.", 60), ("It wants to be sixty psi.", 60),
    ("Step two, oil pressure sixty psi, oil temperature ninety degrees C.", 60), ("Step two, oil pressure sixty psi, oil temperature ninety degrees C.", 90),
    ("Braking test from sixty knots.", 60), ("Foam next. Sixty psi.", 60), ("We'd like the pressure at sixty psi.", 60)])
def test_what_is_ordered_or_read_from_a_card_is_a_target(said, value, tmp_path):
    assert sort_of(tmp_path, said, value) == ["target"]


@pytest.mark.parametrize(("said", "value"), [
    ("Torque went to sixty psi.", 60), ("Tank's come up to sixty psi.", 60), ("Pressure dropped to sixty psi.", 60), ("The pump took it to sixty psi.", 60),
    ("Gear's up at sixty knots.", 60), ("It's now up at sixty psi.", 60), ("Pitch sixty degrees by the clinometer.", 60), ("Speed sixty knots, pull five tons.", 60),
    ("Back to sixty psi.", 60), ("Wind's nine knots from two six zero degrees.", 260), ("Oil pressure's seventy, make that sixty psi.", 60),
    ("I get an oil pressure of sixty psi.", 60), ("Step one complete, oil pressure sixty psi.", 60), ("Last run was sixty psi.", 60),
    ("Cabin pressure seems to hold around sixty psi.", 60)])
def test_what_was_reached_is_measured(said, value, tmp_path):
    assert sort_of(tmp_path, said, value) == ["measured"]


@pytest.mark.parametrize(("said", "value"), [
    ("We clear out at sixty psi.", 60), ("We turn you round at sixty psi.", 60), ("I'd stop at sixty psi.", 60), ("At sixty psi we pause.", 60),
    ("Don't go past sixty psi.", 60), ("Don't turn harder than sixty psi.", 60), ("Sixty's the red.", 60), ("Sixty's the most.", 60),
    ("The oil pressure should be under sixty psi by then.", 60), ("The limit on that is sixty psi.", 60), ("Turn round's at sixty psi.", 60),
    ("We're okay to sixty psi.", 60), ("Change the filter at sixty psi.", 60), ("Watch for sixty psi.", 60), ("Pull up if it sees sixty psi.", 60)])
def test_at_what_something_is_done_is_a_limit(said, value, tmp_path):
    assert sort_of(tmp_path, said, value) == ["limit"]


@pytest.mark.parametrize(("said", "value", "sort"), [
    ("Nominal oil pressure is sixty psi.", 60, "plan"), ("Normal for this load's about sixty psi.", 60, "plan"), ("We'll start with sixty psi.", 60, "plan"),
    ("We'll try a straight run. Sixty knots, then seventy.", 60, "plan"), ("Sixty psi per the sheet.", 60, "plan"),
    ("Oil pressure should end up at sixty psi.", 60, "forecast"), ("It'll be down to sixty psi.", 60, "forecast"),
    ("I'd expect sixty psi.", 60, "forecast")])
def test_what_is_usual_announced_or_foretold_is_told_as_such(said, value, sort, tmp_path):
    assert sort_of(tmp_path, said, value) == [sort]


@pytest.mark.parametrize(("said", "value", "sort", "doubted"), [
    ("Wire speed to sixty knots.", 60, "target", False), ("Belt down to sixty knots.", 60, "measured", True), ("Level at sixty psi.", 60, "measured", True),
    ("The tank goes to sixty psi for this one.", 60, "measured", True), ("Bring the oil pressure up. Sixty psi first.", 60, "target", False),
    ("Speed dropped to sixty knots.", 60, "measured", False), ("Oil pressure's down to sixty psi.", 60, "measured", False)])
def test_what_may_be_an_order_as_well_as_a_reading_says_so(said, value, sort, doubted, tmp_path):
    row = next(row for row in rows_of(tmp_path, ("A", said)) if row.get("value") == value)
    assert (row.get("class"), "perhaps an order, and no reading" in row.doubt) == (sort, doubted)

"""Classes of values: by the question asked, the heading above, the order given, what is done at a value; and readings that only look like these."""
import pytest
from test_unsaid_units import row_of


@pytest.mark.parametrize(("value", "sort", "lines"), [
    (108, "limit", ["A: Bus two is one fifteen volts.", "B: How low can it go?", "A: One hundred and eight."]),
    (70, "limit", ["A: Bow thruster's at sixty percent.", "B: Amber at what?", "A: 70, and red at 80."]),
    (450, "target", ["A: Furnace temperature's three ninety.", "B: What do you need for the furnace?", "A: Four fifty before the next set."]),
    (92, "forecast", ["A: Deflection's 85 millimetres.", "B: What did the design say for deflection?", "A: 92."]),
    (160, "limit", ["A: Termination numbers, for everyone. Saturation sixty five per cent. Heart rate a hundred and sixty."]),
    (11.5, "forecast", ["A: Expected numbers for the log.", "B: Peak axial 11.5 g."]),
    (60, "measured", ["A: How low can it go?", "B: It's at sixty volts now."]),
    (39, "measured", ["A: What was the motor temperature after point one?", "B: Thirty nine degrees."]),
])
def test_a_bare_answer_is_of_the_sort_that_was_asked_for(value, sort, lines):
    assert row_of(value, *lines).get("class") == sort

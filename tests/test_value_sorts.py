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


@pytest.mark.parametrize(("value", "sort", "said"), [
    (4, "target", "Start oxygen, 4 litres a minute."), (12, "target", "Coxswain, take her out to the buoy, twelve knots."),
    (15, "target", "Hover 15 metres over the deck."), (290, "target", "Turn left two nine zero."), (0.5, "target", "Crane, lower at half a metre a second."),
    (8, "target", "Second proof, same brake, full speed, eight metres per second."), (4, "target", "Speed for this proof is four metres per second."),
    (5000, "measured", "Level at five thousand feet."), (150, "measured", "Altimeter's 450 feet, going up at a hundred and fifty feet a minute."),
    (60, "measured", "Distance to the target 60 feet."), (5, "limit", "Walking pace, five kilometres an hour at most."),
    (30, "limit", "Bring them up, thirty feet a minute, no faster."), (400, "limit", "SWL in cargo mode is 400 kilos."),
    (2.1, "limit", "The wire breaks at 2.1 tonnes."), (80, "limit", "Momentum's 62 percent, we'd desat at 80 percent."),
    (735, "limit", "If module pressure goes under 735 millimetres of mercury, close the vent."), (30, "limit", "Trial limits are 2.5 metres and 30 knots."),
    (1.78, "measured", "Max g on the pull was one point seven eight g."), (128, "forecast", "Fuel is 131 kilos. I'd said 128 kilos on fuel."),
    (450, "forecast", "The calculation gave four hundred and fifty metres."), (95, "forecast", "I expect he'll go ten minutes with a systolic around ninety five."),
    (132, "forecast", "The plot gives Bank D at one three two."), (31, "measured", "Hover at 31 metres."),
    (340, "target", "Marigold, the gate's three kilometres north of you. Track three four zero."), (3.6, "limit", "Floor is 3.6 psi, remember."),
    (150, "limit", "Stop criteria, so we all have them. Systolic under eighty, heart rate over one fifty."),
    (41, "measured", "Drum temperature's forty one degrees, limit is ninety."), (2, "measured", "I make the heel two degrees to port."),
    (22000, "forecast", "You should meet the top at about 22 thousand feet."),
])
def test_what_a_sentence_does_with_its_value(value, sort, said):
    assert row_of(value, f"A: {said}").get("class") == sort


@pytest.mark.parametrize("said", [
    "Nothing over 50 psi, please.", "You're allowed up to 50 psi.", "Fine as long as it's under 50 psi.", "Not to exceed 50 psi.", "The pass mark's 50 psi.",
    "It has to reach 50 psi.", "Red above 50 psi.", "We can't open above 50 psi.", "The crane stops at 50 psi.", "Watch it doesn't go over 50 psi.",
    "Reject at 50 psi.", "I won't go past 50 psi.", "As soon as it passes 50 psi, shut down.", "Oil pressure's under 50 psi, no problem.",
    "At 50 psi the valve lifts.", "Masks on above 50 psi.", "Action level is 50 psi.", "Book says up to 50 psi.", "50 psi is where we stop.",
])
def test_a_frame_of_a_bound_makes_a_limit(said):
    assert row_of(50, f"A: {said}").get("class") == "limit"


@pytest.mark.parametrize("said", ["Oil pressure's just under 50 psi.", "Oil pressure stopped at 50 psi.", "Oil pressure's back on 50 psi.", "It took 50 psi."])
def test_what_only_looks_like_a_bound_is_measured(said):
    assert row_of(50, f"A: {said}").get("class") == "measured"


@pytest.mark.parametrize(("sort", "said"), [
    ("target", "Aiming for 50 percent."), ("target", "Let's have 50 percent."), ("target", "Wind it up to 50 percent."), ("target", "Run the pump at 50 percent."),
    ("target", "Dial in 50 percent."), ("target", "Down to 50 percent, please."), ("target", "Pay out 50 metres."), ("measured", "The pump's set to 50 percent."),
    ("plan", "We've planned 50 percent."), ("plan", "Today's profile is 50 feet."), ("forecast", "We'll land with 50 litres."),
    ("forecast", "By the time we land we'll have 50 litres."), ("measured", "We have 50 litres."), ("measured", "I've got 50 percent."),
])
def test_what_is_asked_planned_or_foretold_in_other_words(sort, said):
    assert row_of(50, "A: Power's 45 percent.", f"A: {said}").get("class") == sort

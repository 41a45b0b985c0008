"""A count down to one is not one number, and a value that happens to fall by one is."""
import pytest

from debrief.wording.spoken_numbers import read_numbers


@pytest.mark.parametrize(("text", "values"), [
    ("three two one mark", "3 2 1"),
    ("On my mark three two one mark.", "3 2 1"),
    ("Releasing in three two one. Clear of the hook.", "3 2 1"),
    ("Ready, four three two one mark", "4 3 2 1"),
    ("ten nine eight seven six five four three two one", "10 9 8 7 6 5 4 3 2 1"),
    ("Heading three two one.", "321"),
    ("Sixteen and four three two one.", "16 4321"),
    ("Four three two one.", "4321"),
    ("Three two one.", "321"),
    ("Steer heading three two one degrees", "321"),
    ("Channel four three two one", "4321"),
    ("Okay, three two one metres", "321"),
    ("Turn to three two one.", "321"),
    ("bearing two one zero", "210"),
    ("pressure is three two one point five", "321.5"),
    ("seven six five", "765"),
])
def test_counts_are_parted_and_values_are_not(text, values):
    assert " ".join(f"{number.value:f}" for number in read_numbers(text.split())) == values

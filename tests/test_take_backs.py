"""Values that are none: taken back in the same breath."""
import pytest
from readout_rows import rows_of


def values(tmp_path, *lines):
    return [str(row.get("value")) for row in rows_of(tmp_path, *lines)]


@pytest.mark.parametrize(("said", "left"), [
    ("Hydraulic pressure ninety two bar. I correct, ninety five bar.", ["95"]),
    ("Blood pressure 102 over 64, no, hold on, 108 over 64.", ["108", "64"]),
    ("Lumbar load 38 newtons. Say again, 36 newtons.", ["36"]),
    ("Steel temperature's up to twelve degrees. No, sorry, twelve and a half.", ["12.5"]),
    ("Load is four and a half, no, four point eight seconds.", ["4.8"]),
    ("Oil pressure 40. Wait a second, 42.", ["42"]), ("Oil pressure 51. Ah, no, that's the spare. 42.", ["42"]),
    ("Oil pressure is 40, tell a lie, it's 42.", ["42"])])
def test_a_value_taken_back_is_none(said, left, tmp_path):
    assert values(tmp_path, ("A", said)) == left


@pytest.mark.parametrize(("said", "left"), [
    ("Water temperature 38, hold on, oil pressure 36.", ["38", "36"]),
    ("Oil pressure 40. Hold on there, oil pressure at 42.", ["40", "42"]),
    ("Main ammeter No. 1 is 19, No. 2 is, stand by", ["19"]),
    ("Oil pressure 40, and no leaks, water temperature 38.", ["40", "38"])])
def test_words_of_patience_and_denial_beside_another_thing_take_nothing_back(said, left, tmp_path):
    assert values(tmp_path, ("A", said)) == left

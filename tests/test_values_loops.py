"""Loops full of values (golden/values), typed and as a recogniser may write them. Floors stand a little under what was measured."""
import pytest
from values_loops import FOLDER, NAMES, STYLES, count, f1, read_loop, told_of

LEAST = {"typed": 0.87, "recognised": 0.81}
LEAST_NAMED = {"typed": 0.67, "recognised": 0.64}
LEAST_CLASSED = 0.91
MOST_SURE_WRONG = {"typed": 0.25, "recognised": 0.25}


@pytest.mark.parametrize("style", STYLES)
def test_values_of_other_trades_are_found_named_and_classed(style, tmp_path):
    tally, sure, _ = told_of(NAMES, style, tmp_path)
    assert f1(tally) >= LEAST[style], dict(tally)
    assert tally["named"] >= LEAST_NAMED[style] * tally["found"], dict(tally)
    assert tally["classed"] >= LEAST_CLASSED * tally["found"], dict(tally)
    assert len(sure.wrong) <= MOST_SURE_WRONG[style] * sure.sure, sure.wrong


def test_loops_hold_talk_and_labels_and_many_are_written_as_heard():
    loops = [read_loop(name) for name in NAMES]
    assert all(len(loop.lines) >= 30 and sum(not label.fair for label in loop.labels) >= 40 for loop in loops)
    assert sum(loop.as_heard for loop in loops) * 5 >= 2 * len(NAMES)
    assert FOLDER.is_dir()


def test_no_rows_are_all_missed():
    tally = count(read_loop(NAMES[0]), ())
    assert tally["missed"] >= 40
    assert f1(tally) == 0

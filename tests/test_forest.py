"""Boosted trees as data (debrief/checks/forest.py): against trees worked by hand, and against the library that fits them (LightGBM, from PyPI)."""
import sys
from pathlib import Path

import lightgbm
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from debrief.checks.certainty import calibration
from debrief.checks.forest import forest_of, shipped_forest

SMALL = {"witnesses": ["spoken", "word probability"], "graded": ["word probability"], "roots": [0, 5], "nodes": {
    # the first tree: not spoken -> -1; spoken, and its words heard up to 0.5 or unknown -> 0, else 2; the second has but one leaf
    "asked": [0, -1, 1, -1, -1, -1], "at_most": [0.5, 0, 0.5, 0, 0, 0], "unknown_left": [1, 0, 1, 0, 0, 0],
    "left": [1, 0, 3, 0, 0, 0], "right": [2, 0, 4, 0, 0, 0], "value": [0.4, -1.0, 1.2, 0.0, 2.0, 0.25]}}


@pytest.mark.parametrize(("known", "total", "parts"), [
    ({"spoken": 0.0}, -0.75, {"spoken": -1.4}),
    ({}, -0.75, {"spoken": -1.4}),
    ({"spoken": 1.0, "word probability": 0.9}, 2.25, {"spoken": 0.8, "word probability": 0.8}),
    ({"spoken": 1.0, "word probability": 0.5}, 0.25, {"spoken": 0.8, "word probability": -1.2}),
    ({"spoken": 1.0}, 0.25, {"spoken": 0.8, "word probability": -1.2}),
])
def test_a_tree_worked_by_hand(known, total, parts):
    forest = forest_of(SMALL)
    assert forest.usual == pytest.approx(0.65)
    assert forest.total(known) == pytest.approx(total)
    assert forest.parts([known, {}])[0] == pytest.approx(parts)


@given(st.dictionaries(st.sampled_from(shipped_forest().witnesses), st.floats(0, 1)))
@settings(max_examples=60)
def test_what_the_witnesses_add_makes_up_the_total_and_gives_a_chance(known):
    forest = shipped_forest()
    assert forest.total(known) == pytest.approx(forest.usual + sum(forest.parts([known])[0].values()))
    for groups in calibration().models.values():
        assert 0 < groups["values"].chance(known) < 1


@pytest.mark.outside
def test_the_shipped_reader_gives_what_the_library_gives():
    """LightGBM's own prediction of the raw score, on rows with unknown grades, for trees fitted here."""
    sys.path.insert(0, str(Path(__file__).parent / "bench"))
    from value_fit import Valued, fit_forest

    dice = np.random.default_rng(4)
    names = ["word probability", "name: spoken", "turn: a question"]
    table = np.column_stack([dice.random(600), dice.integers(0, 2, 600), dice.integers(0, 2, 600)])
    table[::7, 0] = np.nan
    right = ((np.nan_to_num(table[:, 0], nan=0.8) + 0.5 * table[:, 1] - 0.4 * table[:, 2] + 0.3 * dice.random(600)) > 0.8).astype(float)
    rows = [{name: value for name, value in zip(names, row, strict=True) if not np.isnan(value)} for row in table]
    kept = {}
    train = lightgbm.train

    def keeping(*given, **named):
        kept["booster"] = train(*given, **named)
        return kept["booster"]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lightgbm, "train", keeping)
        data = fit_forest(Valued(rows, [frozenset()] * 600, right, np.array(["one"] * 600), np.ones(600)), np.ones(600, bool))
    forest = forest_of(data)
    asked = table[:, [names.index(name) for name in forest.witnesses]]
    assert [forest.total(row) for row in rows] == pytest.approx(list(kept["booster"].predict(asked, raw_score=True)), abs=2e-3)

"""Polls, ratings, read-backs, steps, clock calls and what is amiss or left open, in loops of other trades. Floors stand a little under what was measured."""
from collections import Counter
from functools import lru_cache

import pytest
from talk_loops import KINDS, NAMES, STATES, from_commentary, outcome, read, rows_of

from debrief.records.rows import Row

FLOORS = {
    ("typed", "polls"): 0.93, ("typed", "ratings"): 0.92, ("typed", "readbacks"): 0.85, ("typed", "steps"): 0.78, ("typed", "clock_calls"): 0.68,
    ("typed", "open_items"): 0.86, ("typed", "anomalies"): 0.84,
    ("heard", "polls"): 0.90, ("heard", "ratings"): 0.85, ("heard", "readbacks"): 0.80, ("heard", "steps"): 0.77, ("heard", "open_items"): 0.80,
    ("heard", "anomalies"): 0.83, ("heard", "clock_calls"): 0.76,
}
STATES_FOUND, STATES_TOLD = 0.70, 2.0
"""Share of labelled states that a row finds, with at most so many rows for each of them."""


@lru_cache(maxsize=64)
def rows(name: str, style: str, folder: object) -> tuple[Row, ...]:
    return rows_of(read(name), style, folder)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("talk")


def test_every_loop_has_labels_of_several_kinds():
    assert len(NAMES) >= 25
    assert all(sum(bool(read(name).labels.get(kind)) for kind in KINDS) >= 4 for name in NAMES)
    assert sum(read(name).as_heard for name in NAMES) >= 7


@pytest.mark.parametrize(("style", "kind"), FLOORS)
def test_talk_is_read_as_well_as_the_floor(style, kind, folder):
    tally: Counter[str] = Counter()
    for loop in map(read, NAMES):
        if style == "heard" or not loop.as_heard:
            tally += outcome(loop, kind, rows(loop.name, style, folder)).tally
    assert 2 * tally["found"] / max(1, 2 * tally["found"] + tally["missed"] + tally["false"]) >= FLOORS[style, kind], dict(tally)


@pytest.mark.parametrize("style", ["typed", "heard"])
def test_states_are_found_without_too_many_rows(style, folder):
    loops = [loop for loop in map(read, NAMES) if loop.labels.get(STATES) and (style == "heard" or not loop.as_heard)]
    tally: Counter[str] = sum((outcome(loop, STATES, rows(loop.name, style, folder)).tally for loop in loops), Counter())
    labels = tally["found"] + tally["missed"]
    assert labels >= 30
    assert tally["found"] >= STATES_FOUND * labels, dict(tally)
    assert tally["found"] + tally["false"] <= STATES_TOLD * labels, dict(tally)


def test_what_is_told_to_the_public_makes_no_row(folder):
    assert sum(from_commentary(loop, rows(loop.name, style, folder)) for loop in map(read, NAMES) for style in ("typed", "heard")
               if style == "heard" or not loop.as_heard) == 0

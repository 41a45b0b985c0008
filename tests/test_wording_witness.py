"""What the words around a value show, and what they count for (debrief/checks/wording_witness.py)."""
from dataclasses import replace

import pytest
from readout_rows import talk_of

from debrief.checks.review import Review
from debrief.checks.witnesses import Witnesses
from debrief.checks.wording_witness import WORDING, Wordings, wordings
from debrief.harvest import harvest
from debrief.harvest.talk import Talk
from debrief.session import Session


def told(*lines):
    """(row, what it shows, its witness) for each readout of lines (station, text)."""
    talk = talk_of(*lines, session=Session())
    review = Review(tuple(harvest(talk)), talk)
    known = Witnesses(review)
    return [(row, known.shown(at), known.of(at).get(WORDING)) for at, row in enumerate(review.rows) if row.kind == "readouts"]


def test_a_value_shows_the_words_on_both_sides_and_what_ties_it_to_its_name():
    [(_, shown, _)] = told(("Desk", "Go ahead, Winch."), ("Winch", "Cabin pressure is 4.2 bar, steady."))
    beside = {"rea before 0 is", "before 0 is NAME", "rea behind 1 steady", "behind 0 , steady"}
    assert beside | {"within is", "between is", "apart 1", "turn 1 ends winch .", "unit bar", "decimals"} <= shown
    assert "left pressure" not in shown


def test_what_is_learnt_is_how_a_thing_is_said_and_not_what_is_measured():
    (first,), (second,) = told(("Winch", "Cabin pressure is 4.2 bar now.")), told(("Winch", "Line pressure is 7.9 bar now."))
    differ = {item for item in first[1] ^ second[1] if not item.startswith(("name ", "head "))}
    assert not differ


def test_the_chance_is_the_logistic_of_the_sum_and_unknown_words_count_nothing():
    words = Wordings(0.5, {"within is": 1.0, "turn 1 has ?": -2.0})
    assert words.chance(frozenset({"within is", "turn 1 has ?", "left hippopotamus"})) == pytest.approx(1 / (1 + 2.718281828 ** 0.5))
    assert Wordings(0.0, {}).chance(frozenset()) == 0.5


@pytest.mark.parametrize("other", ["If line pressure is 4.2 bar, call me.", "Line pressure should be 4.2 bar.", "Line pressure was supposed to be 4.2 bar."])
def test_the_weights_that_ship_know_what_a_listener_would_stop_at(other):
    ((*_, better),), ((*_, worse),) = told(("Winch", "Line pressure is 4.2 bar.")), told(("Winch", other))
    assert better > worse


def test_the_weights_are_of_things_shown_and_none_is_beyond_reason():
    known = wordings()
    assert len(known.weights) > 1000
    assert all(abs(weight) < 5 for weight in known.weights.values())


def test_of_words_that_a_recogniser_heard_it_says_nothing():
    (row, *_), = told(("Winch", "Line pressure is 4.2 bar."))
    talk = talk_of(("Winch", "Line pressure is 4.2 bar."), session=Session())
    heard = replace(talk.turns[0], tokens=tuple(replace(token, probability=0.9) for token in talk.turns[0].tokens))
    known = Witnesses(Review((row,), Talk((heard,)), sound=True))
    assert known.shown(0) == frozenset()
    assert WORDING not in known.of(0)

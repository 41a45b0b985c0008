"""Remarks behind ratings, from hand-made talk of an invented rope-access trial."""
import pytest
from test_ratings import talk

from debrief.harvest.ratings import ratings
from debrief.harvest.remarks import remarks


def told(*lines: tuple[str, str]) -> list[tuple]:
    given = talk(*lines)
    ratings(given)
    return [(row.get("about"), row.get("text"), row.get("subject")) for row in remarks(given)]


def test_nothing_rated_no_remarks():
    assert told(("Rook", "The harness pinches my left hip.")) == []


def test_the_words_behind_each_rating_belong_to_it():
    assert told(("Rook", "Harness, a two, it pinches my left hip. Upper clamp four, it needs a longer handle.")) == [
        ("harness", "it pinches my left hip", "Rook"), ("upper clamp", "it needs a longer handle", "Rook")]


def test_because_is_a_remark_too():
    assert told(("Rook", "Strain, a six because of the gusts.")) == [("strain", "because of the gusts", "Rook")]


@pytest.mark.parametrize("text", ["Harness five. Upper clamp three.", "Harness, two, maybe a three.", "Strain, six out of ten.",
                                  "Harness four with the left leg up.", "Harness four. One alpha complete.", "Harness four, is that enough for you?"])
def test_hedges_scales_conditions_and_questions_are_no_remark(text):
    assert told(("Rook", text)) == []


def test_the_remark_points_at_its_words_and_at_the_value():
    given = talk(("Rook", "Harness, a two, it pinches my left hip."))
    ratings(given)
    row, = remarks(given)
    assert [(part.role, part.text) for part in row.evidence] == [("text", "it pinches my left hip."), ("value", "two,")]

"""Ratings from hand-made talk of an invented rope-access trial."""
from dataclasses import replace
from decimal import Decimal

import pytest

from debrief.harvest.ratings import ratings
from debrief.harvest.talk import Talk
from debrief.records.talk import Token, Turn
from debrief.session import Session
from debrief.timebase import Span

PLAN = Session.model_validate({
    "stations": [{"name": "Lead", "role": "test director"}, {"name": "Rook", "rates": True}, {"name": "Wren", "rates": True}],
    "scales": [{"name": "strain", "low": 0, "high": 10}, {"name": "grip", "low": 1, "high": 5}],
    "cards": [{"id": "1", "title": "Ledge", "steps": [{"id": "1a", "text": "cross the ledge"}],
               "ratings": [{"axes": ["harness", "upper clamp", "lower clamp"], "scale": "grip", "by": ["Rook", "Wren"]},
                           {"axes": ["strain"], "scale": "strain", "by": ["Rook"]}]}],
})


def talk(*lines: tuple[str, str], session: Session = PLAN) -> Talk:
    turns = [Turn(i, tuple(Token(w, w, f"s{i}", j) for j, w in enumerate(text.split())), who, line_index=i)
             for i, (who, text) in enumerate(lines)]
    return Talk(turns, session)


def told(*lines: tuple[str, str]) -> list[tuple]:
    return [(row.get("axis"), row.get("value"), row.get("subject")) for row in ratings(talk(*lines))]


def test_a_list_of_axes_gives_a_row_for_each():
    assert told(("Rook", "Harness five. Upper clamp three. Lower clamp, two.")) == [
        ("harness", Decimal(5), "Rook"), ("upper clamp", Decimal(3), "Rook"), ("lower clamp", Decimal(2), "Rook")]


def test_one_value_for_two_axes():
    assert told(("Rook", "Upper clamp and lower clamp are both threes.")) == [
        ("upper clamp", Decimal(3), "Rook"), ("lower clamp", Decimal(3), "Rook")]


def test_the_question_gives_the_axis():
    assert told(("Lead", "Rook, strain?"), ("Rook", "Six.")) == [("strain", Decimal(6), "Rook")]


def test_a_hedge_keeps_both_and_averages_nothing():
    row, = ratings(talk(("Rook", "Harness, two, maybe a three.")))
    assert (row.get("value"), row.get("value_alt"), row.get("hedge")) == (Decimal(2), Decimal(3), True)


def test_corrected_in_the_same_line_only_what_stands_is_told():
    assert told(("Rook", "Strain, that's a five. No, six, it's six.")) == [("strain", Decimal(6), "Rook")]


def test_given_anew_later_the_old_one_is_kept_and_superseded():
    old, new = ratings(talk(("Rook", "Harness four."), ("Rook", "Correction, harness is a two.")))
    assert (old.get("superseded"), new.get("superseded")) == (True, False)


def test_a_rating_quoted_and_changed_is_of_the_axis_that_was_given_it():
    """'I said three': of both that were just asked for by their way, the one that was a three."""
    lines = (("Rook", "Upper clamp, left to right a two. Right to left, three. Lower clamp two in both."),
             ("Lead", "Rook, say again your right to left?"), ("Rook", "I said three, but make that a four, actually."))
    rows = ratings(talk(*lines))
    assert [(row.get("axis"), row.get("value")) for row in rows if row.turn == 2] == [("upper clamp", Decimal(4))]
    assert [row.get("value") for row in rows if row.get("superseded")] == [Decimal(3)]


def test_four_from_me_takes_the_axis_just_rated():
    assert told(("Rook", "Harness, a three."), ("Wren", "Four from me."))[1] == ("harness", Decimal(4), "Wren")


@pytest.mark.parametrize("line", [
    "Tell me if the strain goes over five.", "If you asked me now I'd have said strain four.", "Harness bolt two of four is loose.",
    "Strain gauge reads five kilos.", "Harness five metres up.",
])
def test_limits_suppositions_counts_and_measures_are_no_ratings(line):
    assert told(("Rook", line)) == []


def test_the_conductor_rates_nothing_and_silence_gives_nothing():
    assert told(("Lead", "Copy harness five.")) == []
    assert ratings(talk()) == []


def test_the_next_sentence_is_no_unit_of_a_rating():
    """'Console left, two. Foot release four.': no feet."""
    session = Session.model_validate({
        "stations": [{"name": "Crew", "rates": True}], "scales": [{"name": "reach", "low": 1, "high": 5}],
        "cards": [{"id": "1", "title": "Reach", "steps": [], "ratings": [{"axes": ["side console", "foot release"], "scale": "reach"}]}]})
    rows = ratings(talk(("Crew", "Side console two. Foot release four."), session=session))
    assert [(row.get("axis"), int(row.get("value"))) for row in rows] == [("side console", 2), ("foot release", 4)]


def test_a_scale_asked_by_its_ends_rates_what_no_plan_lists():
    session = Session.model_validate({"stations": [{"name": "Base"}, {"name": "Crew", "rates": True}], "scales": [{"name": "strain", "low": 1, "high": 5}]})
    rows = ratings(talk(("Base", "How's the heat, one to five?"), ("Crew", "Heat's a four. Breathing a two."), session=session))
    assert [(row.get("axis"), int(row.get("value")), row.get("scale")) for row in rows] == [("heat", 4, "strain"), ("breathing", 2, "strain")]


def test_a_rating_heard_as_a_word_that_sounds_like_it_is_doubtful():
    row, = ratings(talk(("Rook", "Harness, I'd give it a to.")))
    assert (row.get("axis"), int(row.get("value")), row.fields["value"].certainty) == ("harness", 2, "doubtful")


def test_an_article_heard_as_of_or_to_right_behind_an_axis_gives_the_rating_and_a_command_none():
    assert told(("Rook", "Harness is of five. Upper clamp to three.")) == [("harness", Decimal(5), "Rook"), ("upper clamp", Decimal(3), "Rook")]
    assert told(("Rook", "Upper clamp turned to three.")) == []


def test_an_axis_of_two_words_written_as_one_is_the_same():
    assert told(("Rook", "Upperclamp three.")) == [("upper clamp", Decimal(3), "Rook")]


GIVEN = (("Rook", "Harness three, upper clamp two, lower clamp four."),)


def test_an_axis_told_the_same_takes_the_value_it_points_at_with_doubt():
    rows = ratings(talk(*GIVEN, ("Lead", "Copy."), ("Wren", "Upper clamp five. Harness, same as his.")))
    same = rows[-1]
    assert (same.get("axis"), same.get("value"), same.get("subject"), same.certainty) == ("harness", Decimal(3), "Wren", "doubtful")


def test_the_same_except_one_is_a_rating_for_each_of_the_others():
    rows = told(*GIVEN, ("Lead", "Second ledge."), ("Rook", "Same as before except the upper clamp, that's a four."))
    assert sorted(rows[3:]) == [("harness", Decimal(3), "Rook"), ("lower clamp", Decimal(4), "Rook"), ("upper clamp", Decimal(4), "Rook")]


@pytest.mark.parametrize("text", ["Same again with less weight.", "The same side as before.", "Is it the same except the clamp?", "Same load."])
def test_what_else_is_the_same_rates_nothing(text):
    assert len(told(*GIVEN, ("Rook", text))) == 3


def test_a_value_put_right_by_what_was_said_goes_to_its_axis():
    rows = told(("Rook", "Harness three, upper clamp two."), ("Lead", "Copy."), ("Rook", "I said three, but make that a four."))
    assert rows[-1] == ("harness", Decimal(4), "Rook")


OPEN = Session.model_validate({"stations": [{"name": "Base"}, {"name": "Crew"}], "scales": [{"name": "comfort", "low": 1, "high": 5}]})
BARE = Session()


def free(*lines, session=OPEN):
    return [(row.get("axis"), int(row.get("value"))) for row in ratings(talk(*lines, session=session)) if not row.get("superseded")]


def test_a_scale_asked_by_its_name_rates_what_the_answer_names():
    assert free(("Base", "Crew, comfort?"), ("Crew", "Helmet's a two, gloves are a three.")) == [("helmet", 2), ("gloves", 3)]
    assert free(("Base", "okay comfort crew"), ("Crew", "comfort 4 straps is a 2 they rub")) == [("comfort", 4), ("straps", 2)]


def test_a_height_said_with_the_value_is_a_scale_and_what_was_rated_so_is_known():
    lines = (("Crew", "steering's a 4 out of 5, ride I'd say 3"), ("Crew", "steering better make that a 5"))
    assert free(*lines[:1], session=BARE) == [("steering", 4), ("ride", 3)]
    assert free(*lines, session=BARE) == [("ride", 3), ("steering", 5)]


def test_a_question_for_ratings_opens_them_and_a_rate_does_not():
    lines = (("Base", "Crew, ratings when you're ready. Stick control in the first hundred feet?"), ("Crew", "Call it a three. Braking was two."))
    assert free(*lines, session=BARE) == [("stick control", 3), ("braking", 2)]
    assert free(("Base", "What's your drift rate, please?"), ("Crew", "Gyro two, it's a three on the other."), session=BARE) == []


@pytest.mark.parametrize(("question", "answer", "found"), [
    ("Riding, vertical, one to five?", "Three vertical, four lateral.", [("vertical", 3), ("lateral", 4)]),
    ("How does it handle, Cooper Harper?", "For holding height, four. For the turn into the slope I'd give six.", [("holding height", 4), ("turn", 6)]),
    ("How's the ride, out of ten?", "Five in the turns. Following sea I'd say seven, maybe eight.", [("ride", 5), ("following sea", 7)]),
    ("How's the ride, one to five?", "Four in the bends, three at the end.", [("ride", 4), ("ride", 3)])])
def test_what_is_rated_stands_before_the_value_behind_it_or_in_the_question(question, answer, found):
    assert free(("Base", question), ("Crew", answer), session=BARE) == found


def test_an_instrument_read_out_while_ratings_are_given_is_none():
    assert free(("Base", "How's the ride, one to five?"), ("Crew", "Four. Oil pressure four, tension three."), session=BARE)[:1] == [("ride", 4)]
    assert len(free(("Base", "How's the ride, one to five?"), ("Crew", "Four. Oil pressure four, tension three."), session=BARE)) == 1


def test_a_list_of_axes_written_without_commas_and_two_values_for_two_axes_asked():
    plan = Session.model_validate({"stations": [{"name": "Base"}, {"name": "Ash"}], "scales": [{"name": "warmth", "low": 1, "high": 7},
                                                                                          {"name": "shivering", "low": 0, "high": 4}],
                                   "cards": [{"id": "1", "title": "Cold", "ratings": [{"axes": ["warmth", "shivering"]}]}]})
    assert free(("Ash", "warmth 3 shivering 0"), session=plan) == [("warmth", 3), ("shivering", 0)]
    assert free(("Base", "ash warmth and shivering"), ("Ash", "4 and 0"), session=plan) == [("warmth", 4), ("shivering", 0)]
    heard = talk(("Ash", "warmth too shivering 1"), session=plan)
    turn = replace(heard.turns[0], tokens=tuple(replace(token, span=Span(i * 1000, i * 1000 + 900)) for i, token in enumerate(heard.turns[0].tokens)))
    assert [(row.get("axis"), int(row.get("value")), row.fields["value"].certainty) for row in ratings(Talk([turn], plan))] == [
        ("warmth", 2, "doubtful"), ("shivering", 1, "clear")]


def test_a_question_that_nothing_marks_as_one_opens_a_scale():
    assert free(("Base", "22 40 crew how's the zip on the parka 1 to 5"), ("Crew", "zip's a 4 hood is 2 can't see sideways")) == [("zip", 4), ("hood", 2)]


def test_an_axis_without_a_scale_takes_no_value_beyond_all_scales():
    plan = Session.model_validate({"stations": [{"name": "Base"}, {"name": "Crew"}], "scales": [{"name": "symptom", "low": 0, "high": 4}],
                                   "cards": [{"id": "1", "title": "Mask off", "ratings": [{"axes": ["vision", "tingling"]}]}]})
    assert free(("Base", "Crew, vision?"), ("Crew", "Three."), session=plan) == [("vision", 3)]
    assert free(("Base", "Crew, vision?"), ("Crew", "Seventy. Sixty eight."), session=plan) == []

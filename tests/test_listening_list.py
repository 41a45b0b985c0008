"""The listening list: order by errors settled a second, what fits into minutes, what is played together."""
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from debrief.checks.certainty import calibration
from debrief.checks.listening_list import AROUND_S, PAD_S, START_S, fitting, listening_list
from debrief.checks.missed import MOST, expected_missed
from debrief.checks.review import Review
from debrief.harvest.talk import Talk
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Source, Stretch
from debrief.records.talk import Token, Turn
from debrief.timebase import Span


def row(at_s, chance, *, seconds=1.0, level="clear", look=()):
    where = Part("value", "5", source=Source("r1"), span=Span.of_seconds(at_s, at_s + seconds), start_s=at_s)
    return Row("readouts", {"value": Field(Decimal(5), certainty=level)}, (where,), look=look, witnesses={"chance wrong": chance})


def turn(index, at_s, text, probability):
    tokens = tuple(Token(word, word, f"s{index}", i, Span.of_seconds(at_s + i / 2, at_s + i / 2 + 0.4), probability)
                   for i, word in enumerate(text.split()))
    span = Span.of_seconds(at_s, at_s + len(tokens) / 2)
    return Turn(index, tokens, start_s=at_s, end_s=at_s + len(tokens) / 2, source=Source("r1"), span=span)


def starts(*rows, minutes=None):
    return [item.part.start_s for item in listening_list(Review(rows, Talk(())), minutes)]


def test_likelier_errors_come_first_and_short_ones_before_long_ones():
    assert starts(row(10, 0.1), row(50, 0.9), row(90, 0.9, seconds=8)) == [50, 90, 10]


def test_an_empty_session_has_nothing_to_hear():
    assert listening_list(Review((), Talk(()))) == []


def test_what_a_person_has_heard_is_left_out():
    assert starts(row(10, 0.9, level="heard by a person"), row(50, 0.1)) == [50]


def test_a_reason_to_look_counts_though_the_row_was_heard_well():
    assert starts(row(10, 0.01), row(50, 0.01, look=("12 bar is above the limit of 5 bar",))) == [50, 10]


def test_neighbours_are_one_item_and_cost_one_start():
    (item,) = listening_list(Review((row(10, 0.5), row(11.2, 0.5)), Talk(())))
    assert item.seconds == pytest.approx(2.2 + 2 * PAD_S + START_S)
    assert item.expected_errors == pytest.approx(1.0)


def test_a_sure_neighbour_does_not_dilute_a_doubtful_one():
    items = listening_list(Review((row(10, 0.9), row(11.2, 0.01, seconds=6)), Talk(())))
    assert [round(item.expected_errors, 2) for item in items] == [0.9, 0.01]


def test_minutes_take_what_fits_in_order():
    """Each costs 1 s + 2 x 0.4 s + 1 s = 2.8 s: two fit into 0.1 minutes."""
    assert starts(row(10, 0.1), row(50, 0.9), row(90, 0.5), minutes=0.1) == [50, 90]


def test_talk_heard_badly_with_numbers_and_no_rows_comes_before_talk_without():
    talk = Talk((turn(0, 10, "and then we went home again", 0.95), turn(1, 60, "seven four twelve bar on", 0.3)))
    items = listening_list(Review((), talk, sound=True))
    assert [item.part.start_s for item in items] == [60, 10]
    assert items[0].why == ("talk that may hold more than its rows tell",)


def test_a_saved_transcript_has_no_silences_to_hear():
    assert listening_list(Review((), Talk((turn(0, 10, "seven four twelve bar", 0.3),)), sound=False)) == []


def test_sound_that_could_not_be_read_is_on_the_list():
    held = Stretch(Source("r1"), Span.of_seconds(5, 8), "unreadable", "noise")
    (item,) = listening_list(Review((), Talk(()), (held,), sound=True))
    assert item.why == ("sound that could not be read: noise",)


def test_expected_misses_are_bounded_and_grow_with_bad_hearing():
    talk = Talk(tuple(turn(i, 20.0 * i, "seven four twelve bar on", p) for i, p in enumerate((0.9, 0.1))))
    good, bad = expected_missed(Review((), talk, sound=True), calibration().missed).values()
    assert 0 < good < bad <= MOST


@given(st.lists(st.tuples(st.integers(0, 500), st.floats(0.01, 1)), max_size=12), st.floats(0, 3))
def test_what_fits_never_costs_more_than_the_time(rows, minutes):
    items = listening_list(Review([row(at * 7.0, chance) for at, chance in rows], Talk(())))
    assert sum(item.seconds for item in fitting(items, minutes * 60)) <= minutes * 60


def test_of_a_long_turn_the_stretch_around_its_numbers_is_played():
    words = "and so we went all the way round the back of it and the gauge said four two bar when we left it there for the night".split()
    talk = Talk((turn(0, 100, " ".join(words), 0.5),))
    (item,) = listening_list(Review((), talk, sound=True))
    first = 100 + words.index("four") / 2
    assert item.part.start_s == pytest.approx(first - AROUND_S)
    assert item.part.span.end_s == pytest.approx(first + 0.9 + AROUND_S)


def test_numbers_far_apart_in_a_turn_are_played_apart_and_share_what_it_may_hold():
    words = "the gauge said four two bar when we left it there for the night and came again in the morning and it said nine bar".split()
    talk = Talk((turn(0, 100, " ".join(words), 0.5),))
    items = sorted(listening_list(Review((), talk, sound=True)), key=lambda item: item.part.start_s)
    assert [item.part.start_s for item in items] == [pytest.approx(100 + words.index(word) / 2 - AROUND_S) for word in ("four", "nine")]
    assert sum(item.seconds for item in items) < 8
    assert sum(item.expected_errors for item in items) == pytest.approx(expected_missed(Review((), talk, sound=True), calibration().missed)[0])


def coverage_row(subject):
    where = Part("searched and absent", "pressure: card 1", source=Source("r1"), span=Span.of_seconds(0, 300), start_s=0.0)
    fields = {"item": Field("readout", "plan"), "what": Field("pressure", "plan"), "subject": Field(subject, "plan"),
              "state": Field("possibly said, not read", "assumed", part=0)}
    return Row("coverage", fields, (where,))


@pytest.mark.parametrize(("subject", "where"), [(None, 60), ("Valve House", 150)])
def test_a_planned_thing_is_listened_for_where_it_most_likely_is(subject, where):
    there = replace(turn(2, 150, "four bar", 0.4), station="Valve House")
    talk = Talk((turn(0, 10, "and then we went home", 0.95), turn(1, 60, "nine bar", 0.3), there))
    item = next(item for item in listening_list(Review((coverage_row(subject),), talk, sound=True)) if item.row == 0)
    assert item.part.start_s == where
    assert item.seconds < 6


def test_rows_that_repeat_others_are_not_listed():
    one = Row("events", {"kind": Field("anomaly", certainty="doubtful")}, (Part("text", "x", source=Source("r1"), span=Span.of_seconds(1, 2), start_s=1.0),))
    assert listening_list(Review((one,), Talk(()))) == []

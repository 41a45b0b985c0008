"""How much of a stretch could be read, and what that does to 'not asked'."""
import pytest

from debrief.checks.hearing_coverage import hearing_coverage
from debrief.checks.planned_not_said import POSSIBLY, planned_not_said
from debrief.checks.review import Review
from debrief.harvest.talk import Talk
from debrief.records.sound import Source, Stretch
from debrief.records.talk import Token, Turn
from debrief.session import Card, Session, Step
from debrief.timebase import RecordingClock, Span

HERE = Source("r1")


def held(start_s, end_s, how):
    return Stretch(HERE, Span.of_seconds(start_s, end_s), how)


def review(*stretches, clocks=None):
    words = "card one is open now".split()
    tokens = tuple(Token(word, word, "s0", i, Span.of_seconds(10 + i, 11 + i), 0.9) for i, word in enumerate(words))
    turn = Turn(0, tokens, start_s=10.0, end_s=15.0, source=HERE, span=Span.of_seconds(10, 15))
    session = Session(cards=(Card(id="1", title="one", steps=(Step(id="1a", text="purge the visor"),)),))
    return Review((), Talk((turn,), session), stretches, clocks or {}, True)


def test_read_and_unread_seconds_inside_the_stretch_alone_count():
    found = hearing_coverage(review(held(0, 4, "speech"), held(4, 6, "unreadable"), held(6, 9, "no speech detected")), 2, 20)
    assert (found.read_s, found.unread_s) == (2.0, 2.0)
    assert found.share == 0.5
    assert str(found) == "of 4 s of talk then, 2 s could be read"


def test_stretches_are_told_in_session_time():
    """The file begins at 100 s of the session and runs at its rate."""
    found = hearing_coverage(review(held(0, 4, "speech"), clocks={"r1": RecordingClock(offset_s=100.0)}), 102, 200)
    assert found.read_s == pytest.approx(2.0)


def test_without_an_account_nothing_is_known_and_silence_is_no_gap():
    assert hearing_coverage(review(), 0, 10) is None
    assert hearing_coverage(review(held(0, 5, "no speech detected")), 0, 10).share == 1.0


def test_a_step_is_not_asked_over_sound_that_was_read_and_possibly_said_over_sound_that_was_not():
    (row,) = planned_not_said(review(held(10, 15, "speech"))).added
    assert row.get("state") == "not asked"
    assert row.fields["state"].why[-1] == "of 5 s of talk then, 5 s could be read"
    assert row.witnesses["hearing coverage"] == 1.0
    (row,) = planned_not_said(review(held(10, 13, "speech"), held(13, 15, "unreadable"))).added
    assert row.get("state") == POSSIBLY
    assert row.witnesses["hearing coverage"] == 0.6

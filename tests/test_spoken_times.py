"""Spoken times in every form, and what is none."""
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from debrief.wording.spoken_numbers import read_numbers
from debrief.wording.spoken_times import read_times


def read(said):
    words = said.split()
    return read_times(words, read_numbers(words))


@pytest.mark.parametrize(("said", "kind", "seconds"), [
    ("hold for two and a half minutes", "duration", 150), ("half an hour.", "duration", 1800), ("in half a minute", "countdown", 30),
    ("lift off plus four minutes", "elapsed", 240), ("doors shut plus nineteen.", "elapsed", 1140),
    ("doors shut plus eleven thirty.", "elapsed", 690), ("doors shut plus sixteen and a quarter.", "elapsed", 975),
    ("fan off plus three minutes twenty.", "elapsed", 200), ("plus nine minutes and five", "elapsed", 545),
    ("T minus one forty-five.", "countdown", 105), ("T minus three minutes", "countdown", 180), ("six to go", "countdown", 360),
    ("so six forty left.", "countdown", 400), ("thirty seconds to go", "countdown", 30), ("about 10 more seconds", "duration", 10),
    ("Five forty-five on the smoke clock.", "elapsed", 345), ("2 minutes and 30 seconds", "duration", 150),
    ("plus five zero minutes", "elapsed", 3000), ("3.7 seconds", "duration", Decimal("3.7")),
    ("quarter of an hour", "duration", 900), ("three quarters of an hour", "duration", 2700), ("T plus two minutes", "elapsed", 120),
    ("a minute twenty", "duration", 80), ("an hour and a half", "duration", 5400), ("two minutes to burnout", "countdown", 120),
    ("-000:00:17", "countdown", -17), ("plus 00:15:30", "elapsed", 930), ("8 minutes 50", "duration", 530),
    ("T minus 145", "countdown", 105), ("Ten minutes of air left.", "countdown", 600), ("Three minutes to the turn.",
    "countdown", 180), ("gas on plus three five", "elapsed", 2100),
])
def test_lengths(said, kind, seconds):
    (time,) = read(said)
    assert (time.kind, time.seconds) == (kind, seconds)


@pytest.mark.parametrize(("said", "get"), [
    ("fourteen hundred hours local", "14:00:00"), ("It's fourteen thirteen and twenty seconds local", "14:13:20"),
    ("zero four one five zulu", "04:15:00"), ("102:45:40", "102:45:40"), ("04 plus 32 plus 28", "04:32:28"), ("is 04 32 28. Over",
    "04:32:28"),
    ("Greenwich mean time is 1707.", "17:07:00"), ("at 146 hours", "146:00:00"), ("2 hours 19 minutes, 28 seconds", "02:19:28"),
    ("Time check, ten forty two.", "10:42:00"), ("on air at zero nine four two.", "09:42:00"), ("It's 14, 13 and 20 seconds local",
    "14:13:20"),
    ("1642Z", "16:42:00"), ("half past three", "03:30:00"), ("quarter to six", "05:45:00"), ("114 14 52", "114:14:52"),
    ("GMT one seven oh seven", "17:07:00"), ("102 hours 45 minutes 40 seconds", "102:45:40"),
])
def test_clock_times(said, get):
    (time,) = read(said)
    assert time.get == get


@pytest.mark.parametrize("said", ["Dogs are over. Mark.", "two, one, mark.", "MARK it.", "doors... now.", "Three. Two. One. Release.",
        "Hack."])
def test_marks(said):
    assert [time.kind for time in read(said)] == ["mark"]


@pytest.mark.parametrize("said", ["", "give me a mark", "on my mark please", "wait a minute", "stand by one second",
        "nine metres a minute",
                                  "two left turns", "right now.", "ten minutes to six", "mark up the paper",
                                  "gauge reads 103, left bottle 40",
                                  "five litres per minute", "attitude is 5 left, 3 right", "okay, now, let's go", "on at T minus 3"])
def test_no_times(said):
    assert read(said) == ()


@pytest.mark.parametrize("said", ["at 03 plus 02 plus 01", "is 03 02 01."])
def test_a_clock_time_that_counts_down_is_no_count(said):
    assert [time.kind for time in read(said)] == ["event_time"]


def test_a_bare_offset_keeps_the_reading_in_seconds_too():
    (time,) = read("splash plus fifteen,")
    assert (time.bare, time.seconds, time.others) == (True, 900, (Decimal(15),))


@pytest.mark.parametrize("said", ["two or three minutes", "2 to 3 minutes"])
def test_a_length_between_two(said):
    (time,) = read(said)
    assert (time.seconds, time.seconds_high) == (120, 180)


@pytest.mark.parametrize("said", ["reversing left to right... now.", "left surface, stand by, now.", "and right to left, now, 3 kilos"])
def test_now_set_apart_is_on_the_instant(said):
    assert [time.kind for time in read(said)] == ["mark"]


@given(st.integers(0, 59), st.integers(1, 59), st.sampled_from(["{m} minutes {s} seconds", "{m} minutes and {s} seconds"]),
       st.sampled_from([str, num2words]))
def test_minutes_and_seconds_read_back(minutes, seconds, form, write):
    (time,) = read(form.format(m=write(minutes), s=write(seconds)).replace("one minutes", "one minute"))
    assert time.seconds == minutes * 60 + seconds


@given(st.integers(0, 99), st.integers(0, 59), st.integers(0, 59))
def test_elapsed_clock_times_read_back(hours, minutes, seconds):
    (time,) = read(f"at {hours:02d} plus {minutes:02d} plus {seconds:02d}")
    assert time.get == f"{hours:02d}:{minutes:02d}:{seconds:02d}"


_ANY = "one two oh point and a half to minus plus T mark, - minute minutes seconds left in on the clock 04 32 2:40 go 1:99 z now...".split()


@given(st.lists(st.sampled_from(_ANY)))
def test_any_words_are_read_without_a_crash(words):
    assert all(0 <= time.start < time.end <= len(words) for time in read_times(words, read_numbers(words)))

"""Spoken times against times that others wrote down.

Sources: ISO 8601 durations (PT102H45M40S = P4DT6H45M40S = 369 940 s, computed); mission reports' elapsed times (055:55:20 is 2 days
07:55:20; 369 510 s is 102:38:30; '-000:00:17' before zero; seen); 24-hour time groups of ACP 125 (four figures, 'zulu'; memory).
"""
from datetime import timedelta

import pytest

from debrief.timebase import hms
from debrief.wording.spoken_numbers import read_numbers
from debrief.wording.spoken_times import read_times

pytestmark = pytest.mark.outside


def read(said):
    words = said.split()
    (time,) = read_times(words, read_numbers(words))
    return time


@pytest.mark.parametrize(("said", "length"), [
    ("102 hours 45 minutes 40 seconds", timedelta(days=4, hours=6, minutes=45, seconds=40)),
    ("102:45:40", timedelta(seconds=369_940)), ("55:55:20", timedelta(days=2, hours=7, minutes=55, seconds=20)),
    ("102:38:30", timedelta(seconds=369_510)), ("one zero two plus three eight plus three zero", timedelta(seconds=369_510)),
])
def test_elapsed_times_of_mission_reports(said, length):
    assert read(said).get == hms(length.total_seconds())


def test_before_zero():
    assert read("-000:00:17").seconds == -17


@pytest.mark.parametrize(("said", "group"), [
    ("zero four one five zulu", "04:15:00"), ("two three five niner zulu", "23:59:00"), ("zero zero zero one zulu", "00:01:00"),
    ("1642Z", "16:42:00"),
])
def test_time_groups(said, group):
    assert read(said).get == group

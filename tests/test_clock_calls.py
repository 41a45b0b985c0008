"""Times, clock calls, clock events and time hacks from the talk."""
from decimal import Decimal

import pytest
from clock_talk import clock_rows, talk_of, told

from debrief.session import Session

NO_PLAN = Session()


def calls(*lines, plan=None):
    talk = talk_of(*lines, plan=plan) if plan else talk_of(*lines)
    return told(clock_rows(talk), "clock_calls", "clock", "offset_s", "remaining_s", "mark")


def test_a_mark_and_the_offsets_from_it():
    assert calls((0, "Lead", "Doors are shut. Mark."), (60, "Log", "Doors shut plus one minute."),
                 (150, "Log", "Two and a half minutes on the smoke clock.")) == [
        ("smoke clock", None, None, True), ("smoke clock", 60, None, None), ("smoke clock", 150, None, None)]


def test_a_count_down_with_hold_and_release():
    rows = clock_rows(talk_of(
        (0, "Lead", "The count starts at T minus five minutes. Mark."), (60, "Log", "T minus four minutes."),
        (90, "Lead", "Hold the count, mark."), (95, "Log", "Holding at T minus three thirty."),
        (120, "Lead", "Picking up the count on my mark."), (124, "Lead", "Mark."), (154, "Log", "T minus three minutes.")))
    assert told(rows, "clock_events", "clock", "event") == [("fan count", "start"), ("fan count", "hold"), ("fan count", "release")]
    assert [left for _, left in told(rows, "clock_calls", "clock", "remaining_s") if left] == [300, 240, 210, 180]


def test_a_clock_of_the_talk_is_named_by_its_mark():
    assert calls((0, "Lead", "Hose charged, mark."), (120, "Log", "Hose charged plus two minutes."), plan=NO_PLAN) == [
        ("hose charged", None, None, True), ("hose charged", 120, None, None)]


def test_time_left_on_a_limit():
    assert calls((0, "Lead", "Mask on, mark."), (60, "Log", "Air clock, one minute to go.")) == [
        ("air clock", None, None, True), ("air clock", None, 60, None)]


def test_a_bare_number_follows_the_habit_of_its_clock_and_is_doubtful():
    rows = clock_rows(talk_of((0, "Lead", "Mask on, mark."), (20, "Log", "Mask on plus twenty seconds."),
                              (45, "Log", "Mask on plus forty five.")))
    assert told(rows, "clock_calls", "offset_s")[1:] == [(20,), (45,)]
    last = [row for row in rows if row.kind == "clock_calls"][-1]
    assert (last.certainty, last.fields["offset_s"].others) == ("doubtful", (Decimal(2700),))


def test_a_limit_that_is_called_is_a_mark_on_the_clock_it_belongs_to():
    rows = clock_rows(talk_of((0, "Lead", "Mask on, mark."), (121, "Log", "That's the two-minute limit.")))
    assert told(rows, "clock_calls", "clock", "mark", "text")[-1] == ("air clock", True, "That's the two-minute limit")


@pytest.mark.parametrize("said", ["Give me a mark when they are shut.", "I'll mark up the paper.", "Stand by for the mark.",
                                  "Three doors, two fans, one hose.", "This came shortly after the 15 minute mark.",
                                  "We're aiming to start at thirty-two minutes past the hour.", "It was hot at the ten minute mark."])
def test_no_clock_calls(said):
    assert calls((0, "Lead", said), plan=NO_PLAN) == calls((0, "Lead", said)) == []


def test_counting_is_on_the_count():
    said = "This is the control room at one hour seven minutes twenty-five seconds and counting."
    assert calls((0, "Lead", said), plan=NO_PLAN) == [("count", None, 4045, None)]


def test_what_lies_ahead_is_named_by_its_noun():
    assert calls((0, "Lead", "We're now ten minutes away from our planned opening."), plan=NO_PLAN) == [("opening", None, 600, None)]


def test_a_bare_now_starts_no_sure_clock_that_nobody_spoke_of():
    rows = [row for row in clock_rows(talk_of((0, "Lead", "Log, Lead, now. The gate is down."), plan=NO_PLAN)) if row.kind == "clock_calls"]
    assert all(row.certainty == "doubtful" for row in rows)


def test_an_unnamed_clock_is_a_doubtful_guess():
    rows = clock_rows(talk_of((0, "Lead", "Doors are shut. Mark."), (60, "Log", "Ventilator humming."), (61, "Log", "Mark.")))
    assert [row.certainty for row in rows if row.kind == "clock_calls"] == ["clear", "doubtful"]


def test_an_echo_of_a_mark_is_no_second_mark():
    assert calls((0, "Lead", "Doors are shut. Mark."), (3, "Log", "Mark, doors shut. Thank you.")) == [("smoke clock", None, None, True)]


def test_a_count_that_ends_in_the_next_turn_has_one_mark():
    rows = clock_rows(talk_of((0, "Lead", "Doors in three. Two. One."), (2, "Lead", "Mark.")))
    assert told(rows, "times", "kind") == [("mark",)]


def test_a_time_hack():
    rows = clock_rows(talk_of((0, "Lead", "Time hack, it will be zero nine thirty local. Three. Two. One. Hack.")))
    assert told(rows, "time_hacks", "get", "zone") == [("09:30:00", "local")]
    assert told(rows, "clock_calls", "clock") == []


@pytest.mark.parametrize(("asked", "said", "kind", "value"), [
    ("Tower, time?", "One four two six.", "clock", "14:26:00"), ("How long was that?", "Forty.", "duration", 40),
    ("How long?", "Forty seconds.", "duration", 40), ("What time do you have?", "Zero nine one five.", "clock", "09:15:00"),
])
def test_answers_to_questions_of_time(asked, said, kind, value):
    rows = clock_rows(talk_of((0, "Lead", asked), (3, "Log", said)))
    assert [(row.get("kind"), row.get("get") or row.get("seconds")) for row in rows if row.kind == "times"] == [(kind, value)]


def test_a_second_stopwatch_reading_needs_no_unit():
    rows = clock_rows(talk_of((0, "Log", "Three point eight seconds."), (5, "Log", "Four point four. Slower.")))
    assert told(rows, "times", "seconds") == [(Decimal("3.8"),), (Decimal("4.4"),)]


def test_times_claim_their_words_so_that_none_becomes_a_readout():
    talk = talk_of((0, "Log", "Doors shut plus eleven thirty."))
    clock_rows(talk)
    assert talk.claimed(talk.turns[0], 3, 5) == "times"


def test_no_talk_gives_no_rows():
    assert clock_rows(talk_of()) == []


@pytest.mark.parametrize(("said", "event"), [
    ("Reset the smoke clock. Mark.", "reset"), ("Stop the smoke clock.", "hold"), ("Hold on the smoke clock.", "hold"),
    ("Smoke clock is running again.", "release"), ("Start the smoke clock, mark.", "start"), ("Resume the smoke clock, mark.", "release"),
])
def test_events_of_a_clock(said, event):
    rows = clock_rows(talk_of((0, "Lead", said)))
    assert told(rows, "clock_events", "clock", "event") == [("smoke clock", event)]


@pytest.mark.parametrize("said", ["When the doors open stop the smoke clock.", "I will start the smoke clock on your word.",
                                  "Is the smoke clock running?"])
def test_what_is_only_spoken_of_is_no_event(said):
    assert told(clock_rows(talk_of((0, "Lead", said))), "clock_events", "event") == []


@pytest.mark.parametrize(("said", "clock"), [
    ("Engines shutting down in two minutes.", "engine shutdown"), ("Reversing left to right, mark.", "reversal"),
    ("Switching over, mark.", "switchover"), ("Leaving the dock, mark.", "left dock"),
])
def test_a_clock_is_known_by_other_forms_of_its_name(said, clock):
    plan = Session.model_validate({"recordings": ["a.wav"], "clocks": [
        {"name": "engine shutdown"}, {"name": "reversal"}, {"name": "switchover"}, {"name": "left dock"}]})
    assert told(clock_rows(talk_of((0, "Lead", said), plan=plan)), "clock_calls", "clock") == [(clock,)]


def test_a_clock_by_its_whole_name_and_then_what_it_reads():
    assert calls((0, "Lead", "Doors are shut. Mark."), (40, "Log",
            "Smoke clock reads forty seconds."))[1] == ("smoke clock", 40, None, None)


def test_a_bare_length_after_a_call_on_another_clock_is_no_call_on_the_count():
    rows = calls((0, "Lead", "The count starts at T minus five minutes. Mark."), (60, "Log", "Four minutes."),
                 (70, "Log", "Smoke clock forty seconds."), (80, "Log", "Ten seconds."))
    assert [row[0] for row in rows] == ["fan count", "fan count", "fan count", "smoke clock"]


def test_a_hack_in_turns_of_its_own():
    rows = clock_rows(talk_of((0, "Lead", "Time hack, it will be zero nine thirty zulu."), (6, "Lead", "Three."), (7, "Lead", "Two."),
                              (8, "Lead", "One."), (9, "Lead", "Hack.")))
    hack = next(row for row in rows if row.kind == "time_hacks")
    assert (hack.get("get"), hack.get("zone"), hack.place.start_s) == ("09:30:00", "UTC", 9)


def test_plus_a_bare_number_is_a_call_only_while_a_clock_runs():
    assert calls((0, "Log", "plus two"), plan=NO_PLAN) == []
    running = ((0, "Lead", "doors shut mark"), (120, "Log", "plus two"), (270, "Log", "plus four thirty fans at half"))
    assert calls(*running) == [("smoke clock", None, None, True), ("smoke clock", 120, None, None), ("smoke clock", 270, None, None)]
    assert calls((0, "Lead", "doors shut mark"), (10, "Lead", "What's your trim?"), (12, "Log", "plus two")) == [("smoke clock", None, None, True)]


def test_a_count_is_called_and_held_without_points():
    assert calls((0, "Lead", "fan count 5 minutes to go"), (60, "Log", "4 minutes"), (90, "Lead", "hold the count at 3 minutes 30"),
                 (120, "Lead", "clock is running"), (150, "Log", "3 minutes")) == [
        ("fan count", None, 300, None), ("fan count", None, 240, None), ("fan count", None, 210, None), ("fan count", None, 180, None)]


def test_minutes_behind_the_name_of_a_count_are_what_is_left():
    assert calls((0, "Lead", "Fan minus five.")) == [("fan count", None, 300, None)]
    assert calls((0, "Lead", "Trim minus five.")) == []


def test_the_word_behind_a_count_starts_no_clock_that_nobody_planned():
    assert calls((0, "Lead", "Five, four, three, two, one, firing."), plan=NO_PLAN) == []
    assert calls((0, "Lead", "Fan count one minute to go."), (55, "Lead", "Three, two, one, go."))[1:] == [("fan count", None, None, True)]


def test_gone_is_no_clock():
    assert calls((0, "Lead", "Five minutes gone. Bag one is full."), plan=NO_PLAN) == []


def test_what_is_away_from_a_time_of_day_is_on_no_clock():
    lines = (0, "Lead", "One hour seven minutes and counting."), (9, "Lead", "We'll set our watches at 26 minutes past the hour, which is now about..."), \
        (14, "Lead", "Sixty-five seconds away."), (20, "Lead", "We're now one minute away from twenty-six minutes past the hour.")
    assert [left for _, _, left, _ in calls(*lines, plan=NO_PLAN)] == [4020]


def test_a_hack_at_a_time_elapsed():
    lines = (0, "Base", "I'll give you a GET time hack at 17 minutes in about 20 seconds."), (22, "Base", "Five, four,"), \
        (24, "Base", "three, two, one."), (27, "Base", "Mark."), (29, "Base", "17 minutes GET."), (300, "Base", "You have about two minutes to go.")
    rows = clock_rows(talk_of(*lines, plan=NO_PLAN))
    assert told(rows, "time_hacks", "get") == [("00:17:00",)]
    assert not {"about", "in about"} & {clock for clock, in told(rows, "clock_calls", "clock")}


def test_a_clock_of_the_talk_alone_is_not_meant_for_ever():
    long_ago = [(30.0 * n, "Lead", "All well in the hall.") for n in range(1, 10)]
    assert calls((0, "Lead", "Hose charged, mark."), *long_ago, (400, "Log", "You have two minutes left."), plan=NO_PLAN) == [
        ("hose charged", None, None, True)]

"""Polls known by their shape: who asks whom, and that several answer alike, whatever the words. Talk of our own."""
import pytest

from debrief.harvest.conversation import cut_turns
from debrief.harvest.polls import polls
from debrief.harvest.talk import Talk
from debrief.records.sound import Segment, Source, Word
from debrief.session import Session
from debrief.wording.correction import read_as

SESSION = Session.model_validate({"stations": [{"name": "Warden", "role": "test conductor"}, {"name": "Bow"}, {"name": "Stern"}, {"name": "Pump"}]})


def told(text):
    """(station, answer) of each answer; lines as 'Station: words'."""
    lines = [line.strip() for line in text.strip().splitlines()]
    segments = [Segment(f"r1.0.{i:06d}", tuple(Word(w) for w in line.split(": ", 1)[1].split()), Source("r1"),
                        speaker=line.split(": ", 1)[0], line_index=i) for i, line in enumerate(lines)]
    talk = Talk(cut_turns(segments, {s.segment: read_as(s) for s in segments}, SESSION), SESSION)
    return [(row.get("station"), row.get("answer")) for row in polls(talk) if not row.get("decision")]


ALL = [("Bow", "GO"), ("Stern", "GO"), ("Pump", "GO")]


@pytest.mark.parametrize("text", [
    """Warden: Bow.
       Bow: Plugged.
       Warden: Stern.
       Stern: Stern's plugged.
       Warden: Pump.
       Pump: Plugged, sir.""",
    """Warden: Everyone, tell me when you're on your marks.
       Bow: Bow on our mark.
       Stern: On the mark.
       Pump: Pump's on its mark.""",
    """Warden: Bow, all tight below?
       Bow: All tight below.
       Warden: Stern, all tight aft?
       Stern: All tight.
       Warden: Pump, tight?
       Pump: Tight.""",
    """Warden: Any objections to flooding? Bow?
       Bow: None.
       Warden: Stern?
       Stern: No objection.
       Warden: Pump?
       Pump: No.""",
    """Warden: Are we all happy to flood? Bow.
       Bow: Content.
       Warden: Stern.
       Stern: Ready.
       Warden: Pump.
       Pump: Happy here."""])
def test_a_round_is_known_by_its_shape(text):
    assert told(text) == ALL


def test_a_station_that_differs_has_its_own_answer_and_may_mend_it():
    assert told("""Warden: Everybody, confirm you're in your places. Bow?
                   Bow: In place.
                   Warden: Stern?
                   Stern: Not in place, the ladder's short.
                   Warden: Pump?
                   Pump: Hang on, one hose to go.
                   Pump: Pump's in place.
                   Stern: Stern's in place now.""") == [
        ("Bow", "GO"), ("Stern", "NO-GO"), ("Pump", "STAND BY"), ("Pump", "GO"), ("Stern", "GO")]


def test_who_is_asked_what_speaks_against_it_says_no_to_let_it_go_on():
    assert told("""Warden: Before we flood. Bow, any worries?
                   Bow: No worries.
                   Warden: Stern, any worries?
                   Stern: I've a worry, the hatch weeps.
                   Warden: Pump, any worries?
                   Pump: None.
                   Stern: Hatch is tight. No worries.""") == [("Bow", "GO"), ("Stern", "NO-GO"), ("Pump", "GO"), ("Stern", "GO")]


@pytest.mark.parametrize(("text", "last"), [
    ("""Warden: All stations, sound off for the flood.
        Bow: Bow's on deck.
        Stern: Stern's on deck.
        Pump: Pump needs a minute.""", "STAND BY"),
    ("""Warden: Bow?
        Bow: Up.
        Warden: Stern?
        Stern: Up.
        Warden: Pump?
        Pump: Down, sorry.""", "NO-GO"),
    ("""Warden: Vote please. Bow.
        Bow: Dive.
        Warden: Stern.
        Stern: Dive.
        Warden: Pump.
        Pump: Scrub.""", "NO-GO"),
    ("""Warden: Everyone happy to flood?
        Bow: Yes.
        Stern: Yep, all good.
        Pump: Yes from the pump.""", "GO"),
    ("""Warden: Let me know when you're strapped in.
        Bow: Strapped in.
        Stern: Strapped in back here.
        Pump: Pump strapped.""", "GO")])
def test_the_last_of_a_round_may_say_the_opposite_or_want_time(text, last):
    assert told(text) == [("Bow", "GO"), ("Stern", "GO"), ("Pump", last)]


@pytest.mark.parametrize("text", [
    """Warden: Bow, shut your valve.
       Bow: Shut.
       Warden: Stern, shut your valve.
       Stern: Shut.
       Warden: Pump, shut yours.
       Pump: Shut.""",
    """Warden: bow shut your valve
       Bow: shut
       Warden: stern shut your valve
       Stern: shut""",
    """Warden: Bow, what's your state?
       Bow: Flooded.
       Warden: Stern, what's your state?
       Stern: Flooded.""",
    """Warden: Radio check. Bow.
       Bow: Loud and clear.
       Warden: Stern.
       Stern: Loud and clear.
       Warden: Pump.
       Pump: Clear.""",
    """Warden: Pressures please. Bow.
       Bow: Four bar.
       Warden: Stern.
       Stern: Four bar.
       Warden: Pump.
       Pump: Six bar.""",
    """Warden: Stop the flood at two metres.
       Bow: Stop at two metres.
       Stern: Stop at two metres.
       Pump: Stopping at two metres.""",
    """Warden: Names please. Bow.
       Bow: Bow.
       Warden: Stern.
       Stern: Stern here.
       Warden: Pump.
       Pump: Pump here."""])
def test_comm_checks_readings_and_read_backs_are_no_polls(text):
    assert told(text) == []


def test_a_call_in_vain_stands_where_it_was_made_last():
    lines = [("Warden", "GO or NO GO for flooding. Bow, Stern."), ("Bow", "GO."), ("Warden", "Stern. Stern?"), ("Warden", "Stern isn't there, we hold.")]
    segments = [Segment(f"r1.0.{i:06d}", tuple(Word(w) for w in text.split()), Source("r1"), speaker=who, line_index=i) for i, (who, text) in enumerate(lines)]
    talk = Talk(cut_turns(segments, {s.segment: read_as(s) for s in segments}, SESSION), SESSION)
    row, = (row for row in polls(talk) if row.get("answer") == "none")
    assert (row.get("station"), row.place.line_index) == ("Stern", 2)


def test_a_clock_that_is_told_within_a_poll_answers_nothing():
    """'T minus two minutes' in place of an answer wants no time, 'two minutes' does; 'hold on the clock' orders."""
    poll = "Warden: Go no go to flood. Bow?\nBow: Go.\nWarden: Stern?\n"
    assert told(poll + "Stern: Two minutes.") == [("Bow", "GO"), ("Stern", "STAND BY")]
    assert ("Stern", "STAND BY") not in told(poll + "Stern: T minus two minutes.")
    assert ("Stern", "STAND BY") not in told(poll + "Stern: Hold on the flood clock.")


@pytest.mark.parametrize(("lines", "answers"), [
    # why not, with words behind the denial; a station that holds off at the end of what it says
    ("""Warden: Bow, any reason we shouldn't flood?
        Bow: None. Dry as a bone.
        Warden: Stern?
        Stern: I've a line caught under the boom. Hold it a moment.
        Warden: Pump?
        Pump: No reason from me.""", [("Bow", "GO"), ("Stern", "STAND BY"), ("Pump", "GO")]),
    # one speaks for another
    ("""Warden: I'll have a word from each of you. Bow?
        Bow: Happy.
        Warden: Stern?
        Bow: I'll speak for Stern, he told me he was happy.
        Warden: Pump?
        Pump: Happy.""", [("Bow", "GO"), ("Stern", "GO"), ("Pump", "GO")]),
    # whole answers that are no word of stance, and one who would rather not
    ("""Warden: Everyone content to go on?
        Bow: Carry on.
        Stern: I'd rather see the valve first.""", [("Bow", "GO"), ("Stern", "NO-GO")]),
    ("""Warden: Bow, are you willing to go on?
        Bow: I am.""", [("Bow", "GO")]),
    ("""Warden: Bow, do you concur with flooding?
        Bow: Bow concurs.
        Warden: Stern?
        Stern: Concur.""", [("Bow", "GO"), ("Stern", "GO")]),
    # not yet waits, whatever 'no' stands before it
    ("""Warden: Are you all happy to flood? Bow?
        Bow: No, not yet.
        Warden: Stern?
        Stern: Happy.""", [("Bow", "STAND BY"), ("Stern", "GO")]),
    # a mark is no answer, nor is an order that begins like one
    ("""Warden: All stations, ready to flood? Bow?
        Bow: Ready.
        Warden: Stern?
        Stern: Ready. Stand by. Mark.
        Warden: Pump?
        Pump: Set up the left one first, then ask me.""", [("Bow", "GO"), ("Stern", "GO")])])
def test_answers_in_whole_sentences(lines, answers):
    assert [item for item in told(lines) if item[1] != "none"] == answers


def test_a_turn_with_two_answers_gives_the_first_to_the_one_who_was_called():
    assert told("""Warden: All stations, go or no go for flooding? Pump.
                   Pump: Go.
                   Warden: Bow.
                   Stern: Go. Stern is go.""") == [("Pump", "GO"), ("Bow", "GO"), ("Stern", "GO")]


def test_a_word_and_its_denial_call_a_poll():
    lines = """Warden: Okay, stay no-stay. First?
       Bow: Stay.
       Warden: Next?
       Stern: Stay.
       Warden: Last one?
       Pump: Stand by one. Stay, Warden."""
    assert told(lines) == [("Bow", "GO"), ("Stern", "GO"), ("Pump", "STAND BY"), ("Pump", "GO")]


def test_we_are_go_decides():
    segments = """Warden: Go no-go for the pull. Bow?
       Bow: Go.
       Warden: Everybody, we're go for the pull.
       Bow: We're go on that rope now."""
    assert told(segments) == [("Bow", "GO")]

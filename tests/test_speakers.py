"""Who speaks where nobody is named: bare figures said again are another's echo, whatever the voice."""
from dataclasses import replace

from test_conversation import spoken, turns_of

from debrief.session import Session

SESSION = Session.model_validate({"stations": [{"name": "Warden", "role": "test conductor"}, {"name": "Hoist", "role": "hoist driver"}]})
TALK = ("Warden, Hoist. Hoist is on the line.", "Hoist, Warden. Give me the load.", "Hoist load two point four tonnes steady.")


def voices_of(last):
    """Stations of the turns, the last one spoken in what was taken for the voice of the hoist."""
    segments = [*spoken(*TALK[:1], voice="b"), *spoken(*TALK[1:2], start_s=6.0, voice="a"), *spoken(*TALK[2:], start_s=10.0, voice="b"),
                *spoken(last, start_s=13.5, voice="b")]
    numbered = [replace(segment, segment=f"r1.0.{i:06d}") for i, segment in enumerate(segments)]
    return [turn.station for turn in turns_of(numbered, SESSION)]


def test_bare_figures_said_again_are_not_given_to_the_one_they_echo():
    assert voices_of("Two point four.") == ["Hoist", "Warden", "Hoist", "Warden"]


def test_what_is_new_goes_by_the_voice():
    assert voices_of("Two point five now and rising.")[-1] == "Hoist"

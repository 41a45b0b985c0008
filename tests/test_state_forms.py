"""States told beside 'the fan is off': how somebody is read, how a value moves, amounts of something, what cannot be felt."""
import pytest
from test_talk_events import rows_of


def states(*lines):
    return [(row.get("parameter"), row.get("state")) for row in rows_of("qualitative", *lines)]


@pytest.mark.parametrize(("text", "told"), [
    ("Hook load two point four tonnes, steady.", ("hook load", "steady")),
    ("Tank pressure is 5.5 and holding.", ("tank pressure", "and holding")),
    ("Coming up, one and a half psi. Holding.", ("it", "Holding")),
    ("Gloves. I can't feel much through them.", ("Gloves", "can't feel much through them")),
    ("It moves. It stiff but it moves.", ("it", "stiff")),
    ("Pulse one three two. That's his highest so far.", ("pulse", "his highest so far")),
    ("All well in here.", ("status", "All well in here")),
    ("All systems are go.", ("status", "All systems are go")),
    ("There's a bit of a lag on the stick.", ("lag on the stick", "a bit of a")),
    ("You're clipped at the front of every word.", ("comm", "clipped at the front of every word")),
    ("Lamps is with you, some hum on my side but readable.", ("comm", "some hum on my side but readable")),
    ("Caller, Rigger, have you loud and clear?", ("comm", "loud and clear")),
])
def test_a_state_is_told(text, told):
    assert told in states(f"Rigger: {text}")


def test_a_plain_clear_tells_how_one_is_read_only_in_answer_to_a_check():
    assert ("comm", "Clear bit of an echo in here") in states("Caller: Rigger, radio check.", "Rigger: Clear, bit of an echo in here.")
    assert not [told for told in states("Caller: Is the hook free?", "Rigger: Clear.") if told[0] == "comm"]


@pytest.mark.parametrize("text", [
    "You're clear to lift.", "Am I loud and clear?", "They clear the line at noon.", "All right, all stations.", "Give it a bit of throttle.",
    "T minus ten and holding.", "That's the highest I can go.", "Can you feel much through them?"])
def test_orders_questions_and_permissions_tell_none(text):
    assert states(f"Rigger: {text}") == []

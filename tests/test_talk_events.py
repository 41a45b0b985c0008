"""Anomalies, open items, stop calls, decisions and events, from talk of our own."""
import pytest

from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.records.sound import Segment, Source, Word
from debrief.session import Session
from debrief.wording.correction import read_as

SESSION = Session.model_validate({"stations": [{"name": "Caller", "role": "conductor"}, {"name": "Rigger"}, {"name": "Lamps"},
                                               {"name": "Host", "commentary": True}]})


def rows_of(kind, *lines):
    segments = [Segment(f"r1.0.{i:06d}", tuple(Word(w) for w in line.split(": ", 1)[1].split()), Source("r1"),
                        speaker=line.split(": ", 1)[0], line_index=i) for i, line in enumerate(lines)]
    talk = Talk(cut_turns(segments, {s.segment: read_as(s) for s in segments}, SESSION), SESSION)
    return [row for row in harvest(talk) if row.kind == kind]


def kinds(*lines):
    return [(row.place.line_index, row.get("kind")) for row in rows_of("events", *lines)]


@pytest.mark.parametrize("text", [
    "There's a crack in the bracket.", "The motor's jammed.", "Oil is leaking under the winch.", "My display is frozen.",
    "Pressure is below the card minimum.", "That sensor isn't working.", "We had the wrong channel up.", "The clamp came loose."])
def test_something_wrong_is_an_anomaly(text):
    assert [row.place.line_index for row in rows_of("anomalies", f"Rigger: {text}")] == [0]


@pytest.mark.parametrize("text", [
    "That pulley's whining again.", "Happy here, only my left lamp's gone.", "She won't slew.", "I've a strap caught under the beam.",
    "There's frost on the window.", "It's getting worse.", "Bit of a gas smell by the stove.", "His radio's flat.", "The plug keeps dropping out.",
    "It came adrift.", "Motor's running hot.", "I don't like the sound of that.", "We blew a fuse."])
def test_a_fault_told_in_passing_is_an_anomaly(text):
    assert [row.place.line_index for row in rows_of("anomalies", f"Rigger: {text}")] == [0]


@pytest.mark.parametrize("text", [
    "It won't be long.", "That seat I won't rate.", "Light's gone out.",
    "He's gone to lunch.", "I won't need it.", "Full load, split the saddle.", "The crew keeps going up."])
def test_words_like_those_of_faults_are_none(text):
    assert rows_of("anomalies", f"Rigger: {text}") == []


@pytest.mark.parametrize("lines", [
    ("Rigger: My lamp's flickering.", "Caller: Tap it.", "Rigger: Tapped it, it's steady now."),
    ("Rigger: I've lost the picture.", "Caller: Wait for him.", "Rigger: Picture's back, it was the plug.")])
def test_what_is_put_right_with_it_or_back_is_resolved(lines):
    (row,) = rows_of("anomalies", *lines)
    assert row.get("resolved_line") == 2


@pytest.mark.parametrize("last", ["Lamps: It's steady now.", "Rigger: The lamp is on and still flickering."])
def test_another_stations_it_and_a_thing_still_amiss_resolve_nothing(last):
    row = rows_of("anomalies", "Rigger: My lamp's flickering.", "Caller: Tap it.", last)[0]
    assert row.get("resolved_line") is None


@pytest.mark.parametrize("text", [
    "No leaks here, all dry.", "Hold for the leak check.", "Is anything stuck?", "Nothing loose on my side.", "Pressure is forty psi and holding.",
    "Loud and clear.", "Caution, I'm coming across slowly."])
def test_what_is_denied_asked_or_planned_is_none(text):
    assert rows_of("anomalies", f"Rigger: {text}") == []


def test_an_anomaly_is_told_once_with_its_place_and_its_end():
    row, = rows_of("anomalies", "Rigger: The rope is stuck between pulley two and pulley three.", "Caller: Copy.",
                   "Rigger: Still stuck, that rope.", "Rigger: Rope is free now.")
    assert row.get("location") == "between pulley two and pulley three"
    assert row.get("resolved_line") == 3


def test_commentary_gives_no_rows():
    assert rows_of("anomalies", "Host: There's a crack in the wall behind you, it's three hundred years old.") == []


def test_a_request_for_later_is_an_open_item_with_its_owner():
    row, = rows_of("open_items", "Caller: Rigger, please look at the bracket afterwards.")
    assert (row.get("owner"), row.get("closed_line")) == ("Rigger", None)


@pytest.mark.parametrize(("text", "count"), [
    ("I'll get you the serial numbers.", 1), ("I'll find out about the bracket.", 1), ("I'll have the smith look at that hinge.", 1),
    ("Somebody said three thirty before lunch.", 0), ("I'd like a word on the ropes before we go.", 0), ("I'll get down now.", 0)])
def test_a_promise_needs_no_time_and_a_word_is_none(text, count):
    assert len(rows_of("open_items", f"Rigger: {text}")) == count


def test_a_promise_is_owned_by_the_one_who_makes_it():
    row, = rows_of("open_items", "Lamps: I'll write that up after the test.")
    assert row.get("owner") == "Lamps"


def test_an_open_item_is_closed_where_it_is_reported_done():
    row, = rows_of("open_items", "Caller: Rigger, somebody should log the serial numbers later.", "Rigger: Will do.",
                   "Rigger: The serial numbers are logged, done.")
    assert row.get("closed_line") == 2


def test_a_stop_call_with_its_reason_and_its_release():
    row, = rows_of("stop_calls", "Rigger: Stop, stop, stop. There's a cat on the winch.", "Caller: All stop.", "Rigger: Cat's gone.",
                   "Caller: Okay, carry on.")
    assert (row.place.line_index, row.get("reason"), row.get("released_line")) == (0, "There's a cat on the winch", 3)


def test_a_stopped_motor_is_no_stop_call():
    assert rows_of("stop_calls", "Rigger: Stopped at six metres.") == []


def test_a_deviation_accepted_is_a_decision():
    row, = rows_of("decisions", "Caller: We accept the bracket as it is.")
    assert row.get("what") == "We accept the bracket as it is"
    assert rows_of("decisions", "Caller: Do we accept it?") == []


@pytest.mark.parametrize(("text", "kind"), [
    ("Lamps, Caller, comms check.", "comm_check"), ("Caller, how do you read?", "comm_check"), ("Say again, Rigger?", "say_again"),
    ("You were garbled.", "say_again"), ("Lamps, nothing heard.", "comm_loss"), ("Forty, correction, fifty percent.", "correction")])
def test_the_plain_events(text, kind):
    assert kinds(f"Caller: {text}") == [(0, kind)]


@pytest.mark.parametrize("text", ["I say again, zero four one.", "I make that, well, thirty litres.", "Sorry, I was on the other key."])
def test_what_only_looks_like_an_event(text):
    assert kinds(f"Rigger: {text}") == []


def test_a_read_back_put_right_is_a_correction_where_it_is_put_right():
    assert (2, "correction") in kinds("Rigger: Load is two point three tonnes.", "Caller: Copy, three point two.",
                                      "Rigger: Negative, two point three.")


def test_checklist_steps_without_a_plan():
    assert kinds("Caller: Okay. SUIT PUMP, ON.", "Rigger: Pump's on.", "Caller: Going to manual control.") == [
        (0, "step_start"), (1, "step_complete"), (2, "step_start")]


def test_no_talk_no_rows():
    assert kinds() == []

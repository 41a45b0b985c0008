"""What ties a value to its parameter, beyond its own words: questions, orders, lists, things of a kind; and what ties a number to none."""
import pytest

from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.records.sound import Segment, Source, Word
from debrief.session import Session
from debrief.wording.correction import read_as

PLAN = Session.model_validate({
    "units": {"temperature": "C"},
    "stations": [{"name": "Lead", "role": "test director"}, {"name": "Floor"}, {"name": "Deck"}],
    "cards": [{"id": "R", "title": "Roll", "steps": [{"id": "1", "text": "roll case one, 500 rpm"}, {"id": "2", "text": "roll case two, 900 rpm"}],
               "readouts": [{"what": "shaft speed", "unit": "rpm", "also_called": ["shaft"]},
                            {"what": "vibration", "unit": "um"}]}]})


def rows(*lines, kind="readouts", session=PLAN):
    """Rows of one kind from lines 'Station: words'."""
    segments = [Segment(f"r1.0.{i:06d}", tuple(Word(w) for w in line.split(": ", 1)[1].split()), Source("r1"), speaker=line.split(": ", 1)[0],
                        line_index=i) for i, line in enumerate(lines)]
    talk = Talk(cut_turns(segments, {s.segment: read_as(s) for s in segments}, session), session)
    return [row for row in harvest(talk) if row.kind == kind]


def told(*lines):
    return [(" ".join(str(row.get("parameter") or "").lower().split()), f"{row.get('value'):f}", row.get("unit")) for row in rows(*lines)]


@pytest.mark.parametrize(("lines", "found"), [
    (("Lead: What's your cabin temperature?", "Floor: Twenty six."), [("cabin temperature", "26", "C")]),
    (("Lead: Floor, drafts?", "Floor: Forward four point eight, aft five point one five."), [("forward draft", "4.8", None), ("aft draft", "5.15", None)]),
    (("Lead: Vibration at the bearings?", "Floor: Bearing one twelve, bearing two fifteen, three is eighteen."),
     [("bearing one vibration", "12", "um"), ("bearing two vibration", "15", "um"), ("bearing three vibration", "18", "um")]),
    (("Lead: Motor temps?", "Floor: Azimuth one is thirty one, azimuth two thirty three."),
     [("azimuth one temperature", "31", "C"), ("azimuth two temperature", "33", "C")]),
    (("Deck: Thirty five degrees of rudder.",), [("rudder angle", "35", "deg")]),
    (("Lead: Come to zero one five.",), [("heading", "15", "deg")]),
    (("Floor: Steady on one eight zero.",), [("heading", "180", "deg")]),
    (("Lead: Floor, shaft speed to five hundred.", "Floor: Two fifty. Three eighty. Five hundred and holding."),
     [("shaft speed", "500", "rpm"), ("shaft speed", "250", "rpm"), ("shaft speed", "380", "rpm"), ("shaft speed", "500", "rpm")]),
    (("Deck: Pressure one twenty eight over seventy six.",), [("blood pressure systolic", "128", "mmHg"), ("blood pressure diastolic", "76", "mmHg")]),
    (("Floor: Steam vent's reading 59 on the suit and 48 on the cabin.",), [("steam vent", "59", "C"), ("steam vent", "48", "C")]),
    (("Floor: Port shaft one one eight.",), [("port shaft", "118", "rpm")]),
    (("Floor: Gearbox is seventy two degrees.",), [("gearbox temperature", "72", "C")]),
    (("Floor: Chamber pressure's four times ten to the minus five.",), [("chamber pressure", "0.00004", None)]),
    (("Floor: Wind two eight zero eighteen.",), [("wind direction", "280", "deg"), ("wind speed", "18", None)]),
])
def test_values_are_tied_to_what_they_are_of(lines, found):
    assert told(*lines) == found


@pytest.mark.parametrize("line", [
    "Floor: We're not going to fifty today.", "Floor: I've got a low level on dewar two.", "Floor: I can give you another fifty revs.",
    "Floor: Listening rods on one, two and three.", "Floor: All five.", "Floor: Half a turn.", "Floor: Breaker closed at oh nine forty one.",
    "Floor: Team's away at thirteen twenty two.", "Floor: Test point one zero one.", "Floor: Four says his seal's weeping.",
])
def test_numbers_that_are_no_values(line):
    assert told(line) == []


def test_a_list_in_the_order_of_the_station_before():
    found = told("Floor: Suit's three point seven, oxygen ninety one.", "Deck: Three point eight, ninety four.")
    assert [name for name, _, _ in found] == ["suit", "oxygen", "suit", "oxygen"]


def test_digits_without_their_point_keep_the_plain_reading_and_are_doubtful():
    row = rows("Floor: Suit pressure is three point seven.", "Floor: Suit pressure is steady at three seven.")[-1]
    assert (str(row.get("value")), [str(other) for other in row.fields["value"].others], row.fields["value"].certainty) == ("3.7", ["37"], "doubtful")


@pytest.mark.parametrize("line", ["Floor: Oxygen twent point six.", "Floor: Depth to one four point six five.", "Floor: Speed fifty forty six.",
                                  "Floor: Current is four point ate."])
def test_a_number_beside_a_cut_or_sound_alike_word_is_doubtful(line):
    assert [row.fields["value"].certainty for row in rows(line)] == ["doubtful"]


def test_lists_that_mostly_say_again_another_station_are_no_readouts():
    assert len(rows("Floor: Methane's point four, carbon monoxide thirty five, oxygen twenty point six.",
                    "Lead: Point four methane, CO three five, oxygen twenty point six.")) == 3


@pytest.mark.parametrize(("lines", "verdict"), [
    (("Lead: Go to twenty five percent.", "Floor: Going to twenty nine percent."), "wrong"),
    (("Floor: Methane point four, monoxide thirty five, oxygen twenty point six.", "Lead: Point four, thirty five, oh two twenty six."), "wrong"),
    (("Lead: Up to six metres.", "Floor: Nine, seven, six. Stopped at six metres.", "Lead: Six metres. Clock is running."), "partial"),
    (("Lead: Oxygen at fifteen litres a minute.", "Floor: Fifteen litres."), "right"),
    (("Floor: Dial one is eight point seven five.", "Lead: Eight five seven."), "wrong"),
])
def test_read_backs(lines, verdict):
    assert [str(row.get("verdict")) for row in rows(*lines, kind="readbacks")][-1:] == [verdict]


def test_done_as_asked_is_no_read_back():
    assert rows("Lead: Open the hatch and let some air in.", "Floor: Hatch is open.", kind="readbacks") == []


def test_polls_answered_in_the_words_of_their_question():
    found = rows("Lead: Are we all clear to lift? Floor.", "Floor: Floor is clear.", "Lead: Deck.", "Deck: Negative, there's a boat.",
                 "Lead: Take your time.", "Deck: Deck is clear now.", kind="polls")
    assert [(row.get("station"), row.get("answer")) for row in found] == [("Floor", "GO"), ("Deck", "NO-GO"), ("Deck", "GO")]
    assert rows("Lead: Floor, how do you read?", "Floor: Loud and clear.", kind="polls") == []


def test_steps_are_called_by_the_plans_own_word_and_done_when_they_are_called_done():
    found = rows("Lead: Roll case one.", "Floor: Five hundred, stopped there.", "Lead: Case one complete. Roll case two.", kind="steps")
    assert [(row.get("step"), row.get("event"), row.turn) for row in found] == [("1", "start", 0), ("1", "complete", 2), ("2", "start", 2)]


def test_steps_of_talk_without_a_plan():
    bare = Session.model_validate({"stations": [{"name": "Lead"}, {"name": "Floor"}]})
    found = rows("Lead: Step seven, transmitter on.", "Floor: Transmitter's on.", "Lead: Step seven complete. Step eight is skipped.", kind="steps",
                 session=bare)
    assert [(row.get("step"), row.get("event")) for row in found] == [("7", "start"), ("7", "complete"), ("8", "skipped")]

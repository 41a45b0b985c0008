"""What a careful listener pauses at, in any trade: each witness on a sentence that has it and on its plain neighbour."""
import json

import pytest

from debrief.checks.registry import judge
from debrief.checks.witnesses import Witnesses
from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.hearing.saved_transcript import read_transcript
from debrief.records.sound import Source
from debrief.session import Session
from debrief.wording.correction import read_all


def review_of(tmp_path, lines):
    path = tmp_path / "talk.jsonl"
    path.write_text("".join(json.dumps({"speaker": "A", "text": text}) + "\n" for text in lines), encoding="utf-8")
    segments = list(read_transcript(path, Source("t1", 0)))
    talk = Talk(cut_turns(segments, read_all(segments, Session()), Session()), Session())
    return judge(harvest(talk), talk)[0]


def witnesses(tmp_path, value, *lines):
    review = review_of(tmp_path, lines)
    position = next(i for i, row in review.of("readouts") if row.get("value") == value)
    return Witnesses(review).of(position)


@pytest.mark.parametrize(("witness", "value", "said", "plain"), [
    ("class: words of a plan before it", 60, ["As usual the oil pressure is sixty psi."], ["Oil pressure sixty psi."]),
    ("class: words of a plan behind it", 60, ["Oil pressure sixty psi, nominal."], ["Oil pressure sixty psi now."]),
    ("class: words of an order", 60, ["Next one, oil pressure sixty psi."], ["Oil pressure sixty psi."]),
    ("class: a bound was asked for", 60, ["What was the alarm?", "Oil pressure sixty psi."], ["How is it now?", "Oil pressure sixty psi."]),
    ("value: perhaps a rating", 4, ["Rate the ride, please.", "Pitch four."], ["Read the gauge, please.", "Pitch four."]),
    ("value: perhaps the number of a thing", 2, ["Oil pressure two is about sixty five psi."], ["Oil pressure two, water temperature sixty five."]),
    ("value: runs into another number", 62, ["Oil pressure 62 48 volts."], ["Oil pressure 62, 48 volts."]),
    ("name: its words were said long before", 61, ["Oil pressure sixty psi.", "Go on.", "Go on.", "Go on.", "Sixty one psi."],
     ["Oil pressure sixty psi.", "Sixty one psi."]),
    ("unit: guessed", 80, ["Pulse is eighty."], ["Oil pressure eighty psi."]),
])
def test_a_witness_speaks_where_it_should_and_not_beside(witness, value, said, plain, tmp_path):
    assert witnesses(tmp_path, value, *said)[witness] == 1.0
    assert not witnesses(tmp_path, value, *plain)[witness]


def test_a_plain_frame_is_read_anew(tmp_path):
    assert witnesses(tmp_path, 60, "Oil pressure is sixty psi.")["a plain frame reads the same"] == 1.0
    assert not witnesses(tmp_path, 60, "Oil pressure with pump three on line is sixty psi.")["a plain frame reads the same"]


def test_a_talk_that_is_understood_says_so_of_all_its_values(tmp_path):
    clear = witnesses(tmp_path, 60, "Oil pressure sixty psi.", "Water temperature eighty degrees Celsius.")
    dark = witnesses(tmp_path, 60, "Oil pressure sixty psi.", "And eleven, and then the nine.", "Forty, twelve.")
    assert clear["talk: numbers explained"] == 1.0
    assert dark["talk: numbers explained"] < 1.0
    assert clear["talk: plain rows"] >= dark["talk: plain rows"]

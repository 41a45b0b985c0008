"""Invented loops in the manner of old air-to-ground and test-flight transcripts, read without a session file. Floors stand a little under what was measured."""
import csv
import io
import json
from collections import Counter

from other_trades import FOLDER, Loop, count, f1, read_loop, typed

from debrief.desk.tables import csv_text
from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.hearing.saved_transcript import read_transcript
from debrief.records.sound import Source
from debrief.session import Session
from debrief.wording.correction import read_all

OLD = FOLDER.parent / "old_loops"
LEAST_READOUTS, LEAST_NAMED = 0.81, 0.62


def loops() -> list[Loop]:
    return [read_loop(path.stem, OLD) for path in sorted(OLD.glob("*.talk"))]


def test_readouts_of_old_loops_are_found_and_named(tmp_path):
    tally: Counter[str] = Counter()
    for loop in loops():
        path = tmp_path / f"{loop.name}.jsonl"
        path.write_text("\n".join(typed(loop)) + "\n", encoding="utf-8")
        segments = list(read_transcript(path, Source("t1", 0)))
        rows = harvest(Talk(cut_turns(segments, read_all(segments, Session()), Session()), Session()))
        tally += count(loop, "readouts", list(csv.DictReader(io.StringIO(csv_text(rows, "readouts")))))
    assert f1(tally) >= LEAST_READOUTS, dict(tally)
    assert tally["named"] >= LEAST_NAMED * tally["found"], dict(tally)


def test_old_loops_hold_talk_and_labels():
    assert len(loops()) >= 6
    assert all(len(loop.lines) >= 18 and len(loop.labels["readouts"]) >= 15 for loop in loops())


def test_a_form_that_was_announced_is_plan_over_its_turns_until_it_was_read_back(tmp_path):
    talk = [("CC", "Ranger, Base. I have a burn PAD for you when you're ready to copy."), ("P", "Ready to copy."),
            ("CC", "Weight 31,250, pitch trim plus 0.45."), ("P", "Roger."), ("CC", "Roll 180, pitch 271, yaw 004."),
            ("P", "31,250, plus 0.45, 180, 271, 004."), ("CC", "Good readback. Cabin pressure is 5.2, and we see 74 degrees.")]
    path = tmp_path / "pad.jsonl"
    path.write_text("\n".join(json.dumps({"t": 10.0 * i, "speaker": who, "text": text}) for i, (who, text) in enumerate(talk)) + "\n", encoding="utf-8")
    segments = list(read_transcript(path, Source("t1", 0)))
    rows = harvest(Talk(cut_turns(segments, read_all(segments, Session()), Session()), Session()))
    told = {str(row.get("value")): row.get("class") for row in rows if row.kind == "readouts"}
    assert {told[value] for value in ("31250", "0.45", "180", "271")} == {"plan"}
    assert told["5.2"] == told["74"] == "measured"

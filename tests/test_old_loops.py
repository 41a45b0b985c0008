"""Invented loops in the manner of old air-to-ground and test-flight transcripts, read without a session file. Floors stand a little under what was measured."""
import csv
import io
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

"""Loops of trades that no rule was written for: typed, and as a recogniser may write them. Floors stand a little under what was measured."""
import csv
import io
from collections import Counter
from functools import lru_cache

import pytest
from other_trades import FOLDER, KINDS, NAMES, count, f1, heard, read_loop, typed

from debrief.desk.tables import csv_text
from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.hearing.saved_transcript import read_transcript
from debrief.records.rows import Row
from debrief.records.sound import Source
from debrief.session import load_session
from debrief.wording.correction import read_all

FLOORS = {
    ("typed", "readouts"): 0.92, ("typed", "polls"): 0.96, ("typed", "ratings"): 0.97, ("typed", "readbacks"): 0.92, ("typed", "steps"): 0.94,
    ("heard", "readouts"): 0.82, ("heard", "polls"): 0.88, ("heard", "ratings"): 0.97, ("heard", "readbacks"): 0.76, ("heard", "steps"): 0.91,
}


@lru_cache(maxsize=64)
def rows_of(name: str, style: str, folder: str) -> tuple[Row, ...]:
    loop = read_loop(name)
    path = FOLDER.__class__(folder) / f"{name}.{style}.jsonl"
    path.write_text("\n".join(typed(loop) if style == "typed" else heard(loop)) + "\n", encoding="utf-8")
    session, _ = load_session(loop.session)
    segments = list(read_transcript(path, Source("t1", 0)))
    return tuple(harvest(Talk(cut_turns(segments, read_all(segments, session), session), session)))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return str(tmp_path_factory.mktemp("trades"))


def table(rows: tuple[Row, ...], kind: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(csv_text(rows, kind))))


def test_every_loop_has_talk_and_labels():
    loops = [read_loop(name) for name in NAMES]
    assert len(loops) >= 20
    assert sum(loop.as_heard for loop in loops) >= 3
    assert all(len(loop.lines) >= 20 and len(loop.labels["readouts"]) >= 10 for loop in loops)


@pytest.mark.parametrize(("style", "kind"), FLOORS)
def test_other_trades_are_read_as_well_as_the_floor(style, kind, folder):
    tally: Counter[str] = Counter()
    for loop in map(read_loop, NAMES):
        if style == "heard" or not loop.as_heard:
            tally += count(loop, kind, table(rows_of(loop.name, style, folder), kind))
    assert f1(tally) >= FLOORS[style, kind], dict(tally)


def test_a_table_of_nothing_counts_as_all_missed():
    loop = read_loop(NAMES[0])
    assert {kind: f1(count(loop, kind, [])) for kind in KINDS.values()} == dict.fromkeys(KINDS.values(), 0.0)

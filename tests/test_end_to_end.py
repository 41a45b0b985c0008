"""The main job on recorded sound with the real recogniser: once over the whole demo, and over a minute of it undisturbed, again, and killed.

Needs the weights of the default model; `debrief fetch` (part of the README's test command) brings them.
"""
import json
import re
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest
from demo_rows import compare, expected_rows, read_tables
from killing import small_session

from debrief.demo_files import demo_folder
from debrief.errors import ModelError
from debrief.hearing.models import find_model
from debrief.records.kinds import KINDS
from debrief.store.sessions import SessionStore, canonical_text

pytestmark = [pytest.mark.model, pytest.mark.timeout(1500)]
DEBRIEF = str(Path(sys.executable).with_name("debrief"))


@pytest.fixture(scope="module", autouse=True)
def _weights():
    try:
        find_model()
    except ModelError as error:
        pytest.fail(f"{error}", pytrace=False)


@pytest.fixture(scope="module")
def demo_run(tmp_path_factory):
    """The folder in which `debrief demo` was run, and what it printed."""
    folder = tmp_path_factory.mktemp("demo")
    done = subprocess.run([DEBRIEF, "demo", "out"], cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return folder / "out", done.stdout


@pytest.fixture(scope="module")
def piece(tmp_path_factory):
    """A session over a minute of the demo's first recording, both channels: values are read out and clocks are called."""
    return small_session(tmp_path_factory.mktemp("piece"), seconds=60.0, at_s=385.0).folder


def run_command(piece, out):
    return [DEBRIEF, "run", str(piece), "--out", str(out)]


def text_of(out):
    with SessionStore.open(out, read_only=True) as store:
        assert not store.db.integrity_faults()
        number = store.accepted_pass()
        assert not store.unaccounted(number)
        return canonical_text(store.turns(number), store.machine_rows(number))


@pytest.fixture(scope="module")
def undisturbed(piece, tmp_path_factory):
    out = tmp_path_factory.mktemp("undisturbed")
    subprocess.run(run_command(piece, out), check=True, capture_output=True)
    return text_of(out)


# the whole demo


def test_the_demo_ends_by_naming_what_to_open(demo_run):
    out, said = demo_run
    named = [word.rstrip(".;,") for word in said.split() if word.rstrip(".;,").endswith(".html")]
    assert named
    assert all((out.parent / name).is_file() for name in named)


def test_every_kind_has_a_table_whose_rows_say_how_sure_and_where(demo_run):
    out, _ = demo_run
    rows = read_tables(out)
    assert set(rows) == set(KINDS)
    assert sum(len(items) for items in rows.values()) > 80
    for kind, items in rows.items():
        for row in items:
            assert row["certainty"] in {"repeated", "clear", "doubtful"}, kind
            assert 0 <= float(row["start_s"]) <= 720
            assert "line_index" not in row or row["line_index"] == ""
            assert row["evidence"], (kind, row)


def test_most_sheet_rows_play_their_sound(demo_run):
    out, _ = demo_run
    page = (out / "sheet.html").read_text(encoding="utf-8")
    sounds = json.loads(re.search(r'<script type="application/json" id="sounds">(.*?)</script>', page, re.S)[1])
    numbers = {item["row"] for items in read_tables(out).values() for item in items}
    assert len(page) < 30_000_000
    assert len(sounds) >= 0.9 * len(numbers)


def test_rows_from_sound_find_what_a_careful_listener_wrote(demo_run):
    """A floor, not a target: far fewer means that a room broke. What was found stands in DEVELOPERS.md."""
    out, _ = demo_run
    found = compare(expected_rows(demo_folder()), read_tables(out))
    values = [found[kind] for kind in ("readouts", "clock_calls", "steps", "times")]
    assert sum(item.found for item in values) >= 0.5 * sum(item.expected for item in values), found
    assert sum(item.wrong for item in values) <= 0.6 * sum(item.expected for item in values), found


def test_the_transcript_holds_what_was_heard_and_what_it_is_read_as(demo_run):
    out, _ = demo_run
    lines = [json.loads(line) for line in (out / "transcript.jsonl").read_text(encoding="utf-8").splitlines()]
    assert len(lines) > 80
    assert all(set(line) == {"start_s", "end_s", "loop", "station", "text", "heard"} for line in lines)
    loops = [line["loop"] for line in lines]
    assert {loop for loop in loops if loop} == {"Line", "Cabin", "Valley"}
    assert loops.count(None) <= 0.1 * len(loops)  # heard on two loops, and nothing said tells on which it was spoken
    assert all(line["start_s"] <= line["end_s"] for line in lines)


def test_the_run_leaves_nothing_that_it_does_not_name(demo_run):
    out, _ = demo_run
    kinds = {f"{table}.csv" for table in KINDS}
    known = {"debrief.sqlite", "sheet.html", "transcript.jsonl", "transcript.vtt", "transcript.srt", "transcript.ctm", "datapackage.json",
             "tables", "demo_session"}
    assert {path.name for path in out.iterdir()} - kinds - known <= {"debrief.sqlite-wal", "debrief.sqlite-shm"}


# a minute of it: the same text, again and after a kill


def test_the_same_sound_gives_the_same_text(piece, undisturbed, tmp_path):
    subprocess.run(run_command(piece, tmp_path), check=True, capture_output=True)
    assert "readouts" in undisturbed
    assert text_of(tmp_path) == undisturbed


def test_a_killed_run_goes_on_and_ends_with_the_same_text(piece, undisturbed, tmp_path):
    victim = subprocess.Popen(run_command(piece, tmp_path), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        heard = wait_for_a_window(tmp_path / "debrief.sqlite", victim)
    finally:
        victim.kill()
        assert victim.wait() == -signal.SIGKILL
    assert heard >= 1
    assert not (tmp_path / "sheet.html").exists()
    subprocess.run(run_command(piece, tmp_path), check=True, capture_output=True)
    with SessionStore.open(tmp_path, read_only=True) as store:
        assert len(store.passes()) == 1
    assert text_of(tmp_path) == undisturbed


def wait_for_a_window(store, process, patience_s=300.0):
    """How many windows were heard when the first one was seen in the store of a run that still goes on."""
    until = time.monotonic() + patience_s
    while time.monotonic() < until and process.poll() is None:
        if store.exists():
            connection = sqlite3.connect(f"{store.as_uri()}?mode=ro", uri=True)
            try:
                heard = connection.execute("SELECT count(*) FROM windows WHERE idx >= 0").fetchone()[0]
            except sqlite3.OperationalError:
                heard = 0
            finally:
                connection.close()
            if heard:
                return heard
        time.sleep(0.05)
    return 0

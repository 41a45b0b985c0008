"""Killed at any moment, stopped with Ctrl-C: nothing confirmed is lost and the same command goes on. The long form is bench/kills.py."""
import gc
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import killing_rounds
import pytest
from killing import integrity, left_over, small_session, text_of
from killing_rounds import ROUNDS
from steady_recogniser import SteadyRecogniser
from trust_cli import voices_by_spectrum_alone  # noqa: F401

from debrief.desk import formats
from debrief.errors import StoreError
from debrief.pipeline import RunSettings, run
from debrief.session import load_session
from debrief.store.locks import sole_run
from debrief.store.sessions import SessionStore

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills processes as only POSIX systems let it")
STEADY = [sys.executable, str(Path(__file__).with_name("steady_cli.py"))]


@pytest.mark.parametrize(("name", "count"), [("runs", 1), ("harvests", 1), ("edits", 2), ("exports", 1), ("erasures", 1), ("archive", 1)])
def test_killed_at_random_moments_nothing_is_lost(tmp_path, monkeypatch, name, count):
    monkeypatch.setattr(killing_rounds, "SECONDS", 15.0)
    # On a busy machine the work may be quicker than when it was clocked, and the kill come too late: then it is tried again.
    assert any(ROUNDS[name](tmp_path / str(seed), seed, count) >= 1 for seed in (7, 8, 9))


def test_ctrl_c_ends_a_run_in_seconds_with_a_message_and_the_same_command_goes_on(tmp_path):
    small_session(tmp_path / "session", 15.0, 115.0, first_sheet=False)
    command = ["run", str(tmp_path / "session"), "--out", str(tmp_path / "out")]
    started = subprocess.Popen([*STEADY, "30", *command], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    until = time.monotonic() + 60
    while not (tmp_path / "out" / "debrief.sqlite-run").exists() and time.monotonic() < until:
        time.sleep(0.05)
    time.sleep(1.0)
    started.send_signal(signal.SIGINT)
    began = time.monotonic()
    out, err = started.communicate(timeout=30)
    assert time.monotonic() - began < 5
    assert started.returncode == 130
    assert out == ""
    assert err.endswith("stopped; everything that was finished until now is kept\n"
                        "  What to do: give the same command again, and it goes on from there\n")
    assert "Traceback" not in err
    assert left_over(tmp_path / "out") == []
    assert integrity(tmp_path / "out") == []
    again = subprocess.run([*STEADY, "0", *command], capture_output=True, text=True, check=False)
    assert again.returncode == 0, again.stderr
    assert text_of(tmp_path / "out")


class Looking(SteadyRecogniser):
    """Counts what stands in the session while it hears."""

    def __init__(self, out: Path) -> None:
        super().__init__()
        self._out, self.seen = out, set()

    def hear(self, sound, hints):
        with SessionStore.open(self._out, read_only=True) as store:
            self.seen.add(len(store.rows()))
        return super().hear(sound, hints)


@pytest.mark.parametrize("minutes", [None, 0.0])
def test_a_run_given_again_keeps_every_number_and_all_that_stands_until_it_has_heard_everything(tmp_path, minutes):
    """The demo's loops have priorities, so that a first run hands out a sheet of one of them; minutes: what the second one may take."""
    small = small_session(tmp_path / "session", 15.0, 115.0)
    small.run(tmp_path / "out")
    before, looking = numbers(tmp_path / "out"), Looking(tmp_path / "out")
    looking.settings = {"steady": "2"}
    session, _ = load_session(small.folder / "session.toml", to_hear=True)
    if minutes is not None:
        run(session, small.folder, tmp_path / "out", looking, RunSettings(minutes_budget=minutes)).close()
        assert numbers(tmp_path / "out") != before
    else:
        small.run(tmp_path / "out", looking)
        assert looking.seen == {len(before)}
    small.run(tmp_path / "out", looking)
    assert numbers(tmp_path / "out") == before


def numbers(out: Path) -> dict[int, tuple[str, object]]:
    with SessionStore.open(out, read_only=True) as store:
        return {row.number or 0: (row.kind, row.place.span) for row in store.rows()}


@pytest.mark.parametrize("call", [5, 60, 150])
def test_ctrl_c_while_the_workbook_is_written_leaves_no_complaint_of_its_library(monkeypatch, call):
    left, real = iter(range(call)), formats._text

    def stopped(*given, **more):
        if next(left, None) is None:
            raise KeyboardInterrupt
        return real(*given, **more)

    monkeypatch.setattr(formats, "_text", stopped)
    with pytest.raises(KeyboardInterrupt):
        formats.workbook([])
    gc.collect()  # where the complaints came from; a complaint is a warning, and warnings are errors here


def test_a_link_in_the_place_of_the_lock_is_not_followed(tmp_path):
    """A folder from a stranger may hold a link there to a file of ours."""
    ours = tmp_path / "ours.txt"
    ours.write_text("mine", encoding="utf-8")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "debrief.sqlite-run").symlink_to(ours)
    with pytest.raises(StoreError), sole_run(tmp_path / "out"):
        pass
    assert ours.read_text(encoding="utf-8") == "mine"


def test_a_second_run_on_a_session_is_refused_and_harms_nothing(tmp_path):
    small_session(tmp_path / "session", first_sheet=False)
    command = ["run", str(tmp_path / "session"), "--out", str(tmp_path / "out")]
    first = subprocess.Popen([*STEADY, "1.5", *command], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    until = time.monotonic() + 60
    while not (tmp_path / "out" / "debrief.sqlite-run").exists() and time.monotonic() < until:
        time.sleep(0.05)
    second = subprocess.run([*STEADY, "0", *command], capture_output=True, text=True, check=False)
    assert second.returncode == 2
    assert second.stderr.strip() == (f"{tmp_path / 'out' / 'debrief.sqlite'}: the store is locked by another run (process {first.pid})\n"
                             "  What to do: wait for the other run to end, or end it, and try again")
    out, err = first.communicate(timeout=60)
    assert first.returncode == 0, err
    assert "rows. Open" in out
    assert left_over(tmp_path / "out") == []

"""Full disks, folders nobody may write, drives that vanish, clocks set back: a message, exit code 2, nothing lost, and it goes on after."""
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import av
import pytest
from killing import integrity, left_over, small_session, text_of
from steady_recogniser import SteadyRecogniser
from trust_cli import call, voices_by_spectrum_alone  # noqa: F401

from debrief import cli_progress
from debrief.errors import RecordingError
from debrief.hearing import models
from debrief.hearing import recording as recording_module
from debrief.pipeline import RunSettings, run
from debrief.session import load_session
from debrief.store import edits
from debrief.store import sessions as sessions_module
from debrief.store.sessions import SessionStore

assert cli_progress  # loaded before a test becomes a user who may not read the libraries
ROOT = os.name == "posix" and os.geteuid() == 0


@contextmanager
def small_disk(folder: Path, kilobytes: int) -> Iterator[Path]:
    """A disk of that size in memory. Skips where it cannot be had."""
    folder.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(folder)], capture_output=True, check=False) if ROOT else None
    if made is None or made.returncode:
        pytest.skip("a small disk can be mounted by root alone")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory) -> tuple[Path, str]:
    """The folder of a session, and the text of a run of it that nobody disturbed."""
    folder = tmp_path_factory.mktemp("undisturbed")
    small_session(folder / "session", first_sheet=False).run(folder / "out")
    return folder / "session", text_of(folder / "out")


@pytest.mark.parametrize("kilobytes", [4, 200, 600])
def test_a_full_disk_is_told_wherever_it_fills_and_the_run_goes_on_after(undisturbed, tmp_path, monkeypatch, capsys, kilobytes):
    session, expected = undisturbed
    with small_disk(tmp_path / "disk", kilobytes) as disk:
        told = call(monkeypatch, capsys, "run", str(session), "--out", str(disk / "out"))
        assert told.code == 2
        assert "disk is full" in told.err or "No space left on device" in told.err
        assert "What to do: " in told.err
        assert "Traceback" not in told.err
        subprocess.run(["mount", "-o", "remount,size=100m", str(disk)], check=True)
        assert integrity(disk / "out") == []
        told = call(monkeypatch, capsys, "run", str(session), "--out", str(disk / "out"))
        assert told.code == 0
        assert left_over(disk / "out") == []
        assert text_of(disk / "out") == expected


def test_a_folder_that_cannot_be_written_is_told_and_left_alone(undisturbed, tmp_path, monkeypatch, capsys):
    session, _ = undisturbed
    with small_disk(tmp_path / "disk", 20_000) as disk:
        shutil.copy(__file__, disk / "there.txt")
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        told = call(monkeypatch, capsys, "run", str(session), "--out", str(disk / "out"))
        assert (told.code, told.err) == (2, (f"{disk / 'out'}: cannot be written: Read-only file system\n"
                                             "  What to do: check the folder's permissions and the room on the disk\n"))
        transcript = tmp_path / "talk.jsonl"
        transcript.write_text('{"t": 1, "speaker": "A", "text": "Tank pressure is five bar."}\n', encoding="utf-8")
        told = call(monkeypatch, capsys, "harvest", str(transcript), "--out", str(disk / "tables"))
        assert told.code == 2
        assert told.err.endswith("cannot be written: Read-only file system\n  What to do: check the folder's permissions and the room on the disk\n")
        told = call(monkeypatch, capsys, "new", str(disk / "made"), str(session / "piece.wav"))
        assert told.code == 2
        assert "Read-only file system" in told.err
        assert [path.name for path in disk.iterdir()] == ["there.txt"]


def test_a_store_on_a_disk_that_became_read_only_is_told(undisturbed, tmp_path, monkeypatch, capsys):
    session, expected = undisturbed
    with small_disk(tmp_path / "disk", 40_000) as disk:
        assert call(monkeypatch, capsys, "run", str(session), "--out", str(disk / "out")).code == 0
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        told = call(monkeypatch, capsys, "run", str(session), "--out", str(disk / "out"))
        assert told.code == 2
        assert "Read-only file system" in told.err
        assert text_of(disk / "out") == expected


@pytest.mark.skipif(not ROOT, reason="becomes another user for a moment, which only root may")
def test_a_recording_nobody_may_read_is_told(monkeypatch, capsys):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o777)
        small_session(folder, first_sheet=False)
        (folder / "piece.wav").chmod(0)
        os.seteuid(65534)
        try:
            told = call(monkeypatch, capsys, "run", name, "--out", str(folder / "out"))
        finally:
            os.seteuid(0)
        assert (told.code, told.err) == (2, (f"{folder / 'piece.wav'}: the file cannot be opened: Permission denied\n"
                                             "  What to do: check its permissions\n"))
        assert not (folder / "out").exists()


class Vanishing(SteadyRecogniser):
    """Moves the recording away once it has heard a window, as a drive that is unplugged."""

    def __init__(self, file: Path) -> None:
        super().__init__()
        self._file = file

    def hear(self, sound, hints):
        if self._file.exists():
            self._file.rename(self._file.with_suffix(".gone"))
        return super().hear(sound, hints)


def test_a_drive_that_vanishes_while_hearing_is_told_and_the_run_goes_on_when_it_is_back(undisturbed, tmp_path, monkeypatch, capsys):
    _, expected = undisturbed
    small = small_session(tmp_path / "session", first_sheet=False)
    file = small.folder / "piece.wav"
    monkeypatch.setattr(models, "load_recogniser", lambda *_, **__: Vanishing(file))
    command = ("run", str(small.folder), "--out", str(tmp_path / "out"))
    told = call(monkeypatch, capsys, *command, steady=False)
    assert (told.code, told.err.splitlines()[-2:]) == (2, [
        f"{file}: no such sound file", "  What to do: check the name, or give --recordings the folder that holds it"])
    assert integrity(tmp_path / "out") == []
    with SessionStore.open(tmp_path / "out") as store:
        assert len(store.segments(1)) > 0  # what was heard is kept
    file.with_suffix(".gone").rename(file)
    assert call(monkeypatch, capsys, *command).code == 0
    assert text_of(tmp_path / "out") == expected


def test_a_drive_that_fails_while_reading_is_no_damage_of_the_recording(undisturbed, monkeypatch):
    """Reads that fail because the file is gone must not become 'unreadable' sound for ever."""
    file = undisturbed[0] / "piece.wav"

    class Broken:
        def __init__(self, container):
            self._container, self.name, self.size = container, str(file.with_name("gone.wav")), container.size

        def demux(self, stream):
            yield next(self._container.demux(stream))
            raise av.error.OSError(5, "Input/output error", self.name)

        def __getattr__(self, name):
            return getattr(self._container, name)

    with av.open(str(file)) as container:
        frames = recording_module._frames(Broken(container), container.streams.audio[0])
        with pytest.raises(RecordingError) as refusal:
            list(frames)
    assert str(refusal.value) == (f"{file.with_name('gone.wav')}: reading stopped: No such file or directory\n"
                                  "  What to do: check the drive (is it still connected?) and give the same command again")


class Backwards(datetime):
    """A clock that an hour is taken off at every look."""

    looks = 0

    @classmethod
    def now(cls, tz=None):
        cls.looks += 1
        return datetime(2034, 1, 1, tzinfo=UTC).replace(year=2034 - cls.looks // 2)


def test_a_clock_set_back_loses_nothing_and_orders_nothing(undisturbed, tmp_path, monkeypatch):
    session_folder, expected = undisturbed
    monkeypatch.setattr(sessions_module, "datetime", Backwards)
    monkeypatch.setattr(edits, "datetime", Backwards)
    session, _ = load_session(session_folder)
    with run(session, session_folder, tmp_path / "out", SteadyRecogniser(), RunSettings()) as store:
        number = store.rows()[0].number
        for who in ("Ida", "Olaf"):
            edits.accept(store.db, number, edits.standing(store.db, number).revision, who)
        seal = store.sign("Ida")
        assert not store.seal().broken
        edits.undo(store.db, "Olaf")
        assert [(deed.who, deed.undone) for deed in edits.deeds(store.db, number)] == [("Olaf", True), ("Ida", False)]
        assert store.seal().broken
        assert seal.who == "Ida"
        assert edits.standing(store.db, number).row.certainty == "heard by a person"
    assert text_of(tmp_path / "out") == expected


def test_output_that_nobody_reads_any_more_is_no_error(undisturbed):
    command = f"{sys.executable} {Path(__file__).with_name('steady_cli.py')} 0 --help | head -n 1"
    ended = subprocess.run(["bash", "-c", f"set -o pipefail; {command}"], capture_output=True, text=True, check=False)
    assert "Traceback" not in ended.stderr

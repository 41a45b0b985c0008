"""A small session, work done in a child process, and its death at a chosen moment: what the tests of killed runs share."""
import os
import re
import signal
import sqlite3
import time
import traceback
import wave
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from steady_recogniser import SteadyRecogniser

from debrief.demo_files import demo_folder
from debrief.hearing.recogniser import Recogniser
from debrief.hearing.recording import read_blocks
from debrief.pipeline import RunSettings, run
from debrief.session import load_session
from debrief.store.sessions import SessionStore, canonical_text


@dataclass(frozen=True)
class Small:
    """A session of a few seconds of the demo's sound in a folder of its own."""

    folder: Path

    def run(self, out: Path, recogniser: Recogniser | None = None) -> None:
        session, _ = load_session(self.folder / "session.toml", to_hear=True)
        run(session, self.folder, out, recogniser or SteadyRecogniser(), RunSettings()).close()


def small_session(folder: Path, seconds: float = 40.0, at_s: float = 100.0, *, first_sheet: bool = True) -> Small:
    """The demo's session file with a piece of its first recording, two channels as WAV.

    first_sheet: loops keep their priorities, so that a sheet and tables are written after the first of them, and all again at the end.
    """
    folder.mkdir(parents=True, exist_ok=True)
    channels = {0: [], 1: []}
    for block in read_blocks(demo_folder() / "line_and_cabin.opus", (0, 1), at_s, at_s + seconds):
        channels[block.channel].append(block.sound)
    sound = np.stack([np.concatenate(channels[place]) for place in (0, 1)], axis=1)
    with wave.open(str(folder / "piece.wav"), "wb") as file:
        file.setparams((2, 2, 16_000, 0, "NONE", ""))
        file.writeframes((np.clip(sound, -1, 1) * 32_767).astype("<i2").tobytes())
    text = (demo_folder() / "session.toml").read_text(encoding="utf-8")
    if not first_sheet:
        text = re.sub(r"(?m)^priority = \d+\n", "", text)
    head, rest = text[:text.index("[[recordings]]")], text[text.index("[[recordings]]"):]
    rest = rest[rest.index("\n\n", rest.rindex("[[recordings]]")):]
    (folder / "session.toml").write_text(f'{head}[[recordings]]\nfile = "piece.wav"\nchannels = ["Line", "Cabin"]\n{rest}', encoding="utf-8")
    return Small(folder)


def in_child(work: Callable[[], object], kill_after_s: float | None = None) -> float:
    """Does the work in a child, killed without mercy after a while; returns the seconds it lived. RuntimeError where the work failed."""
    began = time.monotonic()
    child = os.fork()
    if not child:
        code = 1
        try:
            work()
            code = 0
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(code)
    if kill_after_s is not None:
        time.sleep(kill_after_s)
        os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    if not os.WIFSIGNALED(status) and os.waitstatus_to_exitcode(status):
        raise RuntimeError("the work in the child failed; its own report stands above")
    return time.monotonic() - began


def text_of(out: Path) -> str:
    """The canonical text of what stands in a store."""
    with SessionStore.open(out, read_only=True) as store:
        accepted = store.accepted_pass()
        return canonical_text(store.turns(accepted), store.machine_rows(accepted)) if accepted is not None else ""


def integrity(out: Path) -> list[str]:
    """What SQLite's own checks find in the store as the dead left it, its log played in; empty for a sound one, or none at all."""
    file = out / "debrief.sqlite"
    if not file.is_file() or not file.stat().st_size:
        return []
    with sqlite3.connect(file) as db:
        found = [row[0] for row in db.execute("PRAGMA integrity_check") if row[0] != "ok"]
        found += [str(tuple(row)) for row in db.execute("PRAGMA foreign_key_check")]
    db.close()
    return found


def left_over(out: Path) -> list[str]:
    """Files of a run's folder that a run which ended well does not leave."""
    return sorted(path.name for path in out.rglob("*") if path.name.endswith((".partial", "-run", "-journal", "-wal", "-shm")))

"""Fleet: two workers against one on the same recordings, and two of which one is killed half-way. All three must give the same text.

    python tests/bench/fleet.py FOLDER [--minutes 2] [--workers 1 2] [--questions 0] [--model base]

--minutes: only so much of each recording, cut out first, so that a bench on a busy machine ends. Prints hours of sound an hour.
"""
import argparse
import os
import shutil
import signal
import tempfile
import threading
import time
import wave
from pathlib import Path

import numpy as np

from debrief.fleet.cluster import Place
from debrief.fleet.jobs import find_jobs
from debrief.fleet.labour import WORK_FOLDER, Settings
from debrief.fleet.work import run_fleet
from debrief.hearing.recording import probe, read_span
from debrief.store.sessions import SessionStore, canonical_text
from debrief.timebase import HEARING_RATE_HZ, Span


def cut(folder, minutes, target):
    for job in find_jobs(folder).jobs:
        for path, channels, seconds in job.sounds:
            span = Span.of_seconds(0, min(seconds, minutes * 60))
            both = np.stack([read_span(Path(path), channel, span) for channel in range(channels)], axis=1)
            with wave.open(str(target / f"{Path(path).stem}.wav"), "wb") as file:
                file.setparams((probe(Path(path)).channels, 2, HEARING_RATE_HZ, 0, "NONE", ""))
                file.writeframes((np.clip(both, -1, 1) * 32767).astype("<i2").tobytes())


def texts(out):
    found = {}
    for path in sorted(item for item in out.iterdir() if item.is_dir() and item.name != WORK_FOLDER):
        with SessionStore.open(path, read_only=True) as store:
            accepted = store.accepted_pass()
            found[path.name] = canonical_text(store.turns(accepted), store.rows())
    return found


def kill_one(out, killed):
    """Kills the process that holds a store as soon as the store has heard a window."""
    while not killed:
        for lock in out.glob(f"{WORK_FOLDER}/*/debrief.sqlite-run"):
            try:
                with SessionStore.open(lock.parent, read_only=True) as store:
                    heard = any(store.segments(made.number) for made in store.passes())
                if heard and lock.read_text().strip().isdigit():
                    os.kill(int(lock.read_text()), signal.SIGKILL)
                    killed.append(lock.parent.name)
                    return
            except Exception:
                continue
        time.sleep(0.2)


def once(folder, settings, workers, kill):
    killed = []
    if kill:
        threading.Thread(target=kill_one, args=(Path(settings.out), killed), daemon=True).start()
    began = time.perf_counter()
    done = run_fleet(find_jobs(folder).jobs, settings, Place(workers=workers), lambda *_: None)
    spent = time.perf_counter() - began
    sound = sum(item.sound_s for item in done)
    print(f"{workers} workers{', one killed half-way' if killed else ''}: {[item.state for item in done].count('done')} of {len(done)} done, "
          f"{sound / 60:.1f} min of sound in {spent:.0f} s, {sound / spent:.1f} x real time", flush=True)
    return texts(Path(settings.out))


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--minutes", type=float, default=2)
    parser.add_argument("--workers", nargs="+", type=int, default=[1, 2])
    parser.add_argument("--questions", type=float, default=0)
    parser.add_argument("--model", default="base")
    given = parser.parse_args()
    scratch = Path(tempfile.mkdtemp(prefix="fleet-bench-"))
    try:
        (scratch / "tapes").mkdir()
        cut(given.folder, given.minutes, scratch / "tapes")
        runs = []
        for number, (workers, kill) in enumerate([*((workers, False) for workers in given.workers), (max(given.workers), True)]):
            settings = Settings(str(scratch / f"out{number}"), given.model, 1, given.questions)
            runs.append(once(scratch / "tapes", settings, workers, kill))
        same = all(run == runs[0] for run in runs)
        print(f"canonical text of {len(runs[0])} recordings: {'the same in all runs' if same else 'DIFFERS'}")
    finally:
        shutil.rmtree(scratch)


if __name__ == "__main__":
    main()

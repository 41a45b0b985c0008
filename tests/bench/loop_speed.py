"""How fast, and in how much memory, the whole job goes over long sparse loops: hearing, weighing, tables and sheet.

    python tests/bench/loop_speed.py FOLDER SOUND ... [--hours 0.5] [--talk 0.3] [--channels 1] [--files 1] [--session FILE] [--model radio]
                                     [--threads 2] [--first-sheet]

The talk of the SOUNDs (their first channels, as the speech filter finds it) is laid into FILES files of so many channels, each channel a loop of
its own with its talk in an order of its own, until the given part of the time is talk; a soft noise lies under all of it. The job then runs in this
process, which has made none of the sound. FILE: its plan, scales and stations are used (its recordings are not), so that weighing has its questions.
--first-sheet: the first two loops are declared the most important; told, at once, is when the first sheet stood. Told: wall clock and processor seconds,
times real time by both (processor: two cores fully at work), the largest memory, and how busy the machine was before.
"""
import argparse
import multiprocessing
import os
import resource
import shutil
import threading
import time
from pathlib import Path

import numpy as np
from soak import RATE_HZ, empty_file

from debrief.hearing.models import load_recogniser
from debrief.hearing.recording import duration_samples, probe, read_span
from debrief.hearing.speech_spans import talk_spans
from debrief.pipeline import RunSettings, run
from debrief.session import Loop, RecordingEntry, Session, load_session
from debrief.timebase import Span

NOISE = 30
"""Of 32 768: what lies under the talk."""


def make(path: Path, sounds: list[Path], options: argparse.Namespace, seed: int) -> None:
    """A stereo (or half empty) file with talk on its channels."""
    rng = np.random.default_rng(seed)
    talk = []
    for sound in sounds:
        whole = read_span(sound, 0, Span(0, duration_samples(probe(sound))))
        talk += [(np.clip(whole[span.start:span.end], -1, 1) * 32_000).astype("<i2") for span in talk_spans(whole)]
    data = empty_file(path, round(options.hours * 3600 * RATE_HZ))
    bed = rng.normal(0, NOISE, (RATE_HZ * 60, 2)).astype("<i2")
    for start in range(0, len(data), len(bed)):
        data[start:start + len(bed)] = bed[:len(data[start:start + len(bed)])]
    for channel in range(options.channels):
        at = 0.0
        while True:
            piece = talk[rng.integers(len(talk))]
            at += rng.exponential(len(piece) * (1 / options.talk - 1))
            if at + len(piece) > len(data):
                break
            data[round(at):round(at) + len(piece), channel] = piece
            at += len(piece)
    data.flush()


def planned(options: argparse.Namespace, files: list[Path]) -> Session:
    session = load_session(options.session)[0] if options.session else Session()
    names = [[f"Loop {2 * file + channel + 1}" for channel in range(options.channels)] for file in range(len(files))]
    entries = tuple(RecordingEntry(file=path.name, channels=(*own, *["spare"] * (2 - len(own))), offset_s=0.0) for path, own in zip(files, names, strict=True))
    loops = [name for own in names for name in own]
    return session.model_copy(update={
        "recordings": entries, "loops": tuple(Loop(name=name, priority=1 if place < 2 else 2) for place, name in enumerate(loops)) if options.first_sheet else (),
        "excluded": ()})


def watch_for(sheet: Path, began: float, used: float) -> None:
    while not sheet.exists():
        time.sleep(0.5)
    print(f"first sheet after {time.perf_counter() - began:.0f} s by the clock, {time.process_time() - used:.0f} s of processor", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("sounds", nargs="+", type=Path)
    parser.add_argument("--hours", type=float, default=0.5)
    parser.add_argument("--talk", type=float, default=0.3)
    parser.add_argument("--channels", type=int, choices=(1, 2), default=1)
    parser.add_argument("--files", type=int, default=1)
    parser.add_argument("--session", type=Path)
    parser.add_argument("--model", default="radio")
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--first-sheet", action="store_true")
    options = parser.parse_args()
    options.folder.mkdir(parents=True, exist_ok=True)
    files = [options.folder / f"loops_{number + 1}.wav" for number in range(options.files)]
    for number, path in enumerate(files):
        if not path.exists():
            child = multiprocessing.get_context("spawn").Process(target=make, args=(path, options.sounds, options, number))
            child.start()
            child.join()
    out = options.folder / "out"
    shutil.rmtree(out, ignore_errors=True)
    recogniser = load_recogniser(options.model, threads=options.threads)
    busy, began, used = os.getloadavg()[0], time.perf_counter(), time.process_time()
    if options.first_sheet:
        threading.Thread(target=watch_for, args=(out / "sheet.html", began, used), daemon=True).start()
    store = run(planned(options, files), options.folder, out, recogniser, RunSettings())
    wall, cpu = time.perf_counter() - began, time.process_time() - used
    stretches = [item for item in store.stretches(store.accepted_pass()) if item.held_as == "speech"]
    speech_s, sound_s = sum(item.span.duration_s for item in stretches), options.hours * 3600 * options.channels * options.files
    store.close()
    print(f"{sound_s / 3600:.2f} h of loops, held as speech {speech_s / sound_s:.0%}: {wall:.0f} s by the clock, {cpu:.0f} s of processor; "
          f"{sound_s / wall:.1f} x real time by the clock, {2 * sound_s / cpu:.1f} x by processor; "
          f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB; load before {busy:.1f}")


if __name__ == "__main__":
    main()

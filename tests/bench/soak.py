"""A day of sound on two channels: is memory flat, disk linear, and is every time right to 0.1 s at the end?

    python tests/bench/soak.py [--hours 24] [--every 1201] [--noise] [--model base]

A piece of the demo's talk is laid into a long file at known seconds: every so many seconds on the first channel, between those on the second;
with --noise a soft noise lies under both. The file is sparse: its silence takes no room. Runs the whole job on a quarter, a half and
all of the hours with the steady recogniser (or the model named) and prints a line each: speed, peak memory of hearing, size of the store,
and how far the speech and the words told of each piece lie from where the same piece's first ones lie.
"""
import argparse
import os
import resource
import struct
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from steady_recogniser import SteadyRecogniser

from debrief.demo_files import demo_folder
from debrief.hearing.models import load_recogniser
from debrief.hearing.recording import read_span
from debrief.pipeline import RunSettings, run
from debrief.session import load_session
from debrief.store.sessions import SessionStore
from debrief.timebase import Span

RATE_HZ, PIECE_S = 8_000, 20.0
RNG = np.random.default_rng(1)


def write_long(path: Path, hours: float, every_s: int, noise: bool) -> list[list[float]]:
    """A stereo WAV at 8 kHz; returns the seconds at which the piece of talk begins on each channel."""
    talk = [(read_span(demo_folder() / "line_and_cabin.opus", channel, Span.of_seconds(115, 115 + PIECE_S))[::2] * 32_000).astype("<i2")
            for channel in (0, 0)]
    samples = round(hours * 3600 * RATE_HZ)
    size = samples * 4
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + size, b"WAVE", b"fmt ", 16, 1, 2, RATE_HZ, RATE_HZ * 4, 4, 16, b"data", size)
    path.write_bytes(head)
    os.truncate(path, len(head) + size)
    sound = np.memmap(path, np.dtype("<i2"), "r+", len(head), (samples, 2))
    if noise:
        bed = RNG.normal(0, 30, (RATE_HZ * 60, 2)).astype("<i2")
        for start in range(0, samples, len(bed)):
            sound[start:start + len(bed)] = bed[:len(sound[start:start + len(bed)])]
    places: list[list[float]] = [[], []]
    for channel in (0, 1):
        for at_s in range(60 + channel * every_s // 2, round(hours * 3600 - PIECE_S - 1), every_s):
            sound[at_s * RATE_HZ:at_s * RATE_HZ + len(talk[channel]), channel] += talk[channel]
            places[channel].append(float(at_s))
    sound.flush()
    return places


def told_at(out: Path, places: list[list[float]]) -> tuple[float, float, int]:
    """(farthest speech, farthest word from where the first piece's lie, pieces heard), seconds."""
    with SessionStore.open(out) as store:
        spans = {channel: [item.span for item in store.stretches(1) if item.held_as == "speech" and item.source.channel == channel] for channel in (0, 1)}
        words = {channel: [word.span for item in store.segments(1) if item.source.channel == channel for word in item.words] for channel in (0, 1)}
    heard = sum(any(place <= span.start_s + 1 <= place + PIECE_S + 1 for span in spans[channel]) for channel in (0, 1) for place in places[channel])
    return _farthest(spans, places), _farthest(words, places), heard


def _farthest(spans: dict[int, list[Span]], places: list[list[float]]) -> float:
    farthest = 0.0
    for channel in (0, 1):
        starts = np.array([span.start_s for span in spans[channel]])
        first = None
        for place in places[channel]:
            near = starts[(starts > place - 2) & (starts < place + PIECE_S + 2)] - place
            if len(near):
                first = near[0] if first is None else first
                farthest = max(farthest, abs(near[0] - first))
    return farthest


def one(folder: Path, hours: float, options: argparse.Namespace) -> None:
    folder.mkdir()
    places = write_long(folder / "long.wav", hours, options.every, options.noise)
    (folder / "session.toml").write_text('[[recordings]]\nfile = "long.wav"\nchannels = ["Line", "Cabin"]\n', encoding="utf-8")
    began = time.monotonic()
    child = os.fork()
    if not child:
        session, _ = load_session(folder / "session.toml")
        recogniser = load_recogniser(options.model) if options.model else SteadyRecogniser()
        run(session, folder, folder / "out", recogniser, RunSettings(questions_per_minute=0)).close()
        print(f"  peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB", flush=True)
        os._exit(0)
    _, status = os.waitpid(child, 0)
    assert status == 0
    took = time.monotonic() - began
    speech, words, heard = told_at(folder / "out", places)
    size = (folder / "out" / "debrief.sqlite").stat().st_size
    whole = sum(path.stat().st_size for path in (folder / "out").rglob("*") if path.is_file())
    print(f"{hours:g} h on 2 channels: {took:.0f} s ({hours * 3600 / took:.0f} x real time), store {size / 1e6:.2f} MB, all files {whole / 1e6:.2f} MB, "
          f"{heard} of {sum(map(len, places))} pieces heard; speech off by at most {speech:.3f} s, words by {words:.3f} s", flush=True)


def main() -> None:
    given = argparse.ArgumentParser()
    given.add_argument("--hours", type=float, default=24)
    given.add_argument("--every", type=int, default=1201)
    given.add_argument("--noise", action="store_true")
    given.add_argument("--model")
    options = given.parse_args()
    for part in (4, 2, 1):
        with tempfile.TemporaryDirectory() as folder:
            one(Path(folder) / "soak", options.hours / part, options)


if __name__ == "__main__":
    main()

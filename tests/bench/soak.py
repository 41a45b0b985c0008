"""A day of sound on two channels: is memory flat, disk linear, and is every time right to 0.1 s at the end?

    python tests/bench/soak.py FOLDER [--hours 24] [--every 60] [--noise] [--of RECORDING] [--model base]

Dense: a piece of the demo's talk is laid into a long file at known seconds, every so many seconds on the first channel, between those on the
second; with --noise a soft noise lies under both. Sparse: --of repeats the first channel of a recording to the end of the file, the second
channel half its length later. The file is an RF64 of 16 kHz whose silence takes no room. The whole job runs over it with the steady recogniser
(or the model named) and keeps in FOLDER/log.csv, by hour of sound heard, processor time, memory and size of the store. Stopped or killed, the
same command goes on where it was.

At the end it tells how far times lie from where the copies truly lie. The steady recogniser's other words hang on where windows were cut, so it
also says by the sound itself which moment of the copied sound it hears (words 'q<sample>', set aside): those must come out at that moment of that
copy. The session is then put into an archive. Memory and time are told by stage (FOLDER/stages.csv). The long file is written by a process of its
own, since its mapped pages would count as ours.
"""
import argparse
import csv
import json
import os
import re
import resource
import struct
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from killing import in_child
from soak_stages import Stages
from steady_recogniser import SteadyRecogniser

from debrief.archive.adding import add
from debrief.archive.shape import Archive
from debrief.demo_files import demo_folder
from debrief.hearing.models import load_recogniser
from debrief.hearing.recogniser import HeardSegment, HeardWord, Hints, Sound
from debrief.hearing.recording import duration_samples, probe, read_blocks, read_span
from debrief.pipeline import RunSettings, run
from debrief.session import load_session
from debrief.store.sessions import SessionStore
from debrief.timebase import Span

RATE_HZ, PIECE_S = 16_000, 20.0
HEAD_BYTES = 80
RNG = np.random.default_rng(1)
Places = list[list[float]]


ALONE, LOUD, BESIDE = 2_000, 1_000, 12


def moments(sound: NDArray[np.int16]) -> Iterator[tuple[int, bytes]]:
    """(sample, samples around it) of every moment that is loudest for an eighth of a second on both sides, wherever the sound was cut from."""
    for block in range(0, len(sound), ALONE):
        level = np.abs(sound[block:block + ALONE].astype(np.int32))
        at = block + int(level.argmax())
        around = np.abs(sound[max(0, at - ALONE):at + ALONE].astype(np.int32))
        if level.max() > LOUD and around.max() == level.max() and BESIDE <= at < len(sound) - BESIDE:
            yield at, sound[at - BESIDE:at + BESIDE].tobytes()


class Telling(SteadyRecogniser):
    """The steady recogniser that also says which moments of the copied sound it is given, as words 'q<sample>' where they lie, set aside."""

    def __init__(self, copied: NDArray[np.int16]) -> None:
        super().__init__()
        found = list(moments(copied))
        often = Counter(around for _, around in found)
        self.known = {around: at for at, around in found if often[around] == 1}

    def hear(self, sound: Sound, hints: Hints) -> tuple[HeardSegment, ...]:
        heard = [(at, self.known.get(around)) for at, around in moments(np.rint(sound * 32_768).astype(np.int16))]
        words = tuple(HeardWord(f"q{sample}", at / RATE_HZ, at / RATE_HZ + 0.01, 0.9) for at, sample in heard if sample is not None)
        return (*super().hear(sound, hints), *([HeardSegment(words, -0.3, 0.01, 1.2, set_aside="tells moments alone")] if words else []))


def copied_sound(folder: Path, places: Places, length_s: float) -> NDArray[np.int16]:
    """The first copy on the first channel, as it stands in the long file."""
    sound = np.memmap(folder / "long.wav", np.dtype("<i2"), "r", HEAD_BYTES).reshape(-1, 2)
    first = round(places[0][0] * RATE_HZ)
    return sound[first:first + round(length_s * RATE_HZ), 0]


def empty_file(path: Path, samples: int) -> np.memmap:
    """A stereo RF64 (EBU Tech 3306) of silence; its samples, shape (samples, 2), to be written to."""
    size = samples * 4
    head = struct.pack("<4sI4s4sIQQQI", b"RF64", 0xFFFFFFFF, b"WAVE", b"ds64", 28, size + 72, size, samples, 0)
    head += struct.pack("<4sIHHIIHH4sI", b"fmt ", 16, 1, 2, RATE_HZ, RATE_HZ * 4, 4, 16, b"data", 0xFFFFFFFF)
    path.write_bytes(head)
    os.truncate(path, len(head) + size)
    return np.memmap(path, np.dtype("<i2"), "r+", len(head), (samples, 2))


def lay_pieces(sound: np.memmap, options: argparse.Namespace) -> Places:
    """Seconds at which the piece of talk begins on each channel."""
    if options.noise:
        bed = RNG.normal(0, 30, (RATE_HZ * 60, 2)).astype("<i2")
        for start in range(0, len(sound), len(bed)):
            sound[start:start + len(bed)] = bed[:len(sound[start:start + len(bed)])]
    piece = (read_span(demo_folder() / "line_and_cabin.opus", 0, Span.of_seconds(115, 115 + PIECE_S)) * 32_000).astype("<i2")
    places: Places = [[], []]
    for channel in (0, 1):
        for at_s in range(30 + channel * options.every // 2, round(len(sound) / RATE_HZ - PIECE_S - 1), options.every):
            sound[at_s * RATE_HZ:at_s * RATE_HZ + len(piece), channel] += piece
            places[channel].append(float(at_s))
    return places


def lay_copies(sound: np.memmap, recording: Path) -> Places:
    """Seconds at which a copy of the recording begins on each channel; the last one is cut by the file's end."""
    length = -(-duration_samples(probe(recording)) // (4 * RATE_HZ)) * 4 * RATE_HZ  # so that each copy meets the detector's frames (32 ms) alike
    starts = [list(range(first, len(sound), length)) for first in (0, length // (8 * RATE_HZ) * 4 * RATE_HZ)]
    for block in read_blocks(recording):
        data = (block.sound * 32_767).astype("<i2")
        for channel in (0, 1):
            for start in starts[channel] if data.any() else ():
                place = sound[start + block.start:start + block.end, channel]
                place[:] = data[:len(place)]
    return [[start / RATE_HZ for start in of_channel] for of_channel in starts]


def made(folder: Path, options: argparse.Namespace) -> Places:
    """Where the copies lie in the long file; made anew only where no run before this one made it."""
    told = folder / "places.json"
    if not told.exists():
        folder.mkdir(parents=True, exist_ok=True)
        in_child(lambda: _make(folder, options))
    found: Places = json.loads(told.read_text())
    return found


def _make(folder: Path, options: argparse.Namespace) -> None:
    sound = empty_file(folder / "long.wav", round(options.hours * 3600 * RATE_HZ))
    places = lay_copies(sound, options.of) if options.of else lay_pieces(sound, options)
    sound.flush()
    (folder / "session.toml").write_text('[[recordings]]\nfile = "long.wav"\nchannels = ["Line", "Cabin"]\n', encoding="utf-8")
    (folder / "places.json").write_text(json.dumps(places))


def now_mb() -> float:
    with open("/proc/self/statm") as file:
        return int(file.read().split()[1]) * resource.getpagesize() / 1e6


def log_to(folder: Path) -> Callable[[str, float, float], None]:
    """A watch that writes a line for every hour of sound heard, and for every change of what is done."""
    seen: list[tuple[str, int]] = []
    began = time.monotonic()

    def watch(what: str, done: float, whole: float) -> None:
        mark = (what, int(done // 3600))
        if mark in seen:
            return
        seen.append(mark)
        store = sum(path.stat().st_size for path in (folder / "out").glob("debrief.sqlite*"))
        line = [what, f"{done / 3600:.2f}", f"{whole / 3600:.2f}", f"{time.monotonic() - began:.0f}", f"{time.process_time():.0f}", f"{now_mb():.0f}",
                f"{store / 1e6:.2f}"]
        with (folder / "log.csv").open("a", encoding="utf-8") as file:
            csv.writer(file).writerow(line)

    return watch


def told_at(out: Path, places: Places, length_s: float) -> str:
    """How far speech and words of every copy lie from those of the middle copy of their channel, at most, in seconds."""
    with SessionStore.open(out) as store:
        says = []
        told = [(word.span.start_s - places[item.source.channel][k] - int(word.text[1:]) / RATE_HZ, k) for item in store.segments(1)
                for word in item.words if re.fullmatch(r"q\d+", word.text)
                for k in [int(np.searchsorted(places[item.source.channel], word.span.start_s + 0.5)) - 1]]
        if told:
            off = np.abs([seconds for seconds, _ in told])
            copies = Counter(k for _, k in told)
            says.append(f"{len(told)} moments in {len(copies)} copies told at most {off.max():.3f} s from where they lie "
                        f"({int((off > 0.1).sum())} by more than 0.1 s)")
        for name in ("speech", "words"):
            farthest, compared, alone = 0.0, 0, 0
            for channel in (0, 1):
                starts = np.array(sorted([item.span.start_s for item in store.stretches(1) if item.held_as == "speech" and item.source.channel == channel]
                                         if name == "speech" else
                                         [word.span.start_s for item in store.segments(1) if item.source.channel == channel for word in item.words
                                          if not re.fullmatch(r"q\d+", word.text)]))
                copies = [starts[(starts >= place - 1) & (starts < place + length_s - 1)] - place for place in places[channel]]
                usual = copies[len(copies) // 2]  # the first and the last one have silence on a side
                for copy in copies[1:-1] if len(usual) else ():
                    off = np.abs(copy[:, None] - usual[None, :]).min(axis=1)
                    compared, alone, farthest = compared + len(off), alone + int((off > 0.1).sum()), max(farthest, float(off.max(initial=0)))
            says.append(f"{name} of {compared} places at most {farthest:.3f} s from the middle copy's ({alone} by more than 0.1 s)")
        return f"{'; '.join(says)}; {len(store.unaccounted(1))} samples' spans unaccounted for"


def main() -> None:
    given = argparse.ArgumentParser()
    given.add_argument("folder", type=Path)
    given.add_argument("--hours", type=float, default=24)
    given.add_argument("--every", type=int, default=60)
    given.add_argument("--noise", action="store_true")
    given.add_argument("--of", type=Path)
    given.add_argument("--model")
    given.add_argument("--tell", action="store_true", help="runs nothing; tells of what a run that was stopped has heard so far")
    options = given.parse_args()
    places = made(options.folder, options)
    watch, out = log_to(options.folder), options.folder / "out"
    session, _ = load_session(options.folder / "session.toml")
    length_s = duration_samples(probe(options.of)) / RATE_HZ if options.of else PIECE_S + 2
    if options.tell:
        print(told_at(out, places, length_s))
        return
    watch("the file stands", 0, 2 * 3600 * options.hours)
    recogniser = load_recogniser(options.model) if options.model else Telling(copied_sound(options.folder, places, length_s))
    with Stages(options.folder / "stages.csv") as stages:
        run(session, options.folder, out, recogniser, RunSettings(questions_per_minute=0, watch=watch)).close()
        watch("done", 2 * 3600 * options.hours, 2 * 3600 * options.hours)
        with stages.stage("archive"), Archive.create(options.folder / "archive") as archive:
            assert [outcome.what for outcome in add(archive, [out])] != ["set aside"]
    print("\n".join(stages.lines()))
    whole = sum(path.stat().st_size for path in out.rglob("*") if path.is_file())
    print(f"{options.hours:g} h on 2 channels: {time.process_time():.0f} s of the processor in this process, peak memory "
          f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB, store {(out / 'debrief.sqlite').stat().st_size / 1e6:.2f} MB, "
          f"all files {whole / 1e6:.2f} MB; {told_at(out, places, length_s)}")


if __name__ == "__main__":
    main()

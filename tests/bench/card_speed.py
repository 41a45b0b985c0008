"""Hours of sound heard in an hour, on a processor and on a graphics card, single and in batches; and how alike their words are.

    python tests/bench/card_speed.py SOUND ... --systems cpu:int8:8:1 cuda:float16:0:1 cuda:float16:0:32 [--minutes 0] [--rounds 1]

A system is device:compute:threads:batch; the first is what the others are compared with. Windows are cut first, outside the timing;
every system hears the same windows, the best round counts (--minutes: only so much of their sound). Words are compared without case
and punctuation, as edits for each word of the first system's text.
"""
import argparse
import json
import re
import time
from dataclasses import dataclass
from pathlib import Path

from rapidfuzz.distance import Levenshtein

from debrief.hearing.models import find_model
from debrief.hearing.recogniser import NO_HINTS
from debrief.hearing.recording import duration_samples, probe
from debrief.hearing.speech_spans import account
from debrief.hearing.whisper import WhisperRecogniser, WhisperSettings
from debrief.hearing.windows import cut_windows, window_sound
from debrief.records.sound import Recording


@dataclass
class Measured:
    system: str
    seconds: float
    words: list


def windows_of(paths):
    sounds, began, whole = [], time.perf_counter(), 0.0
    for path in paths:
        info = probe(path)
        recording = Recording("r1", str(path), "", duration_samples(info), info.rate_hz, info.channels)
        whole += recording.duration / 16_000 * info.channels
        for stretches in account(recording).values():
            sounds += [window_sound(recording, window) for window in cut_windows(stretches)]
    return sounds, whole, time.perf_counter() - began


def measure(system, sounds, rounds):
    device, compute, threads, batch = system.split(":")
    settings = WhisperSettings(device=device, compute=compute, threads=int(threads), batch=int(batch))
    recogniser = WhisperRecogniser(find_model(), settings)
    size, best, heard = recogniser.batch, float("inf"), []
    recogniser.hear(sounds[0], NO_HINTS)
    for _ in range(rounds):
        began = time.perf_counter()
        if size > 1:
            heard = [item for first in range(0, len(sounds), size) for item in recogniser.hear_many(sounds[first:first + size], NO_HINTS)]
        else:
            heard = [recogniser.hear(sound, NO_HINTS) for sound in sounds]
        best = min(best, time.perf_counter() - began)
    words = [re.findall(r"[a-z0-9']+", " ".join(part.text for part in window if not part.set_aside).lower()) for window in heard]
    return Measured(system, best, words)


def apart(left, right):
    edits = sum(Levenshtein.distance(a, b) for a, b in zip(left, right, strict=True))
    return edits / max(1, sum(map(len, left)))


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sounds", nargs="+", type=Path)
    parser.add_argument("--systems", nargs="+", default=["cpu:int8:8:1", "cuda:float16:0:1", "cuda:float16:0:32"])
    parser.add_argument("--rounds", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=0)
    given = parser.parse_args()
    sounds, whole, cutting = windows_of(given.sounds)
    if given.minutes:
        kept, total = [], 0.0
        for sound in sounds[::3] + sounds[1::3] + sounds[2::3]:
            if total < given.minutes * 60:
                kept.append(sound)
                total += len(sound) / 16_000
        sounds = kept
    hours = sum(map(len, sounds)) / 16_000 / 3600
    print(f"{whole / 3600:.3f} h of sound, {hours:.3f} h of speech heard in {len(sounds)} windows; finding speech took {cutting:.1f} s", flush=True)
    first = None
    for system in given.systems:
        run = measure(system, sounds, given.rounds)
        first = first or run
        print(json.dumps({"system": system, "seconds": round(run.seconds, 2), "hours_per_hour": round(hours * 3600 / run.seconds, 1),
                          "times_the_first": round(first.seconds / run.seconds, 2),
                          "words_apart": round(apart(first.words, run.words), 4)}), flush=True)


if __name__ == "__main__":
    main()

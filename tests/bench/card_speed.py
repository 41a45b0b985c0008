"""Hours of sound heard in an hour, on a processor and on a graphics card, single and in batches; and how alike their words are.

    python tests/bench/card_speed.py SOUND ... [--weights FOLDER] [--systems cpu:int8:8:1 cuda:float16:0:1 cuda:float16:0:32 ...]

A system is device:compute:threads:batch; the first is the one that others are compared with, so it stands for the processor. Windows are
cut first, outside the timing, and taken from all over the sound: systems of batch 1 hear the first --single of them, batches hear
--windows. Words are compared without case and punctuation over the windows that both heard, as edits for each word of the other text;
numbers likewise, over words that are figures or number words. 'Single' is the system of batch 1 with the same device and compute type.
Questions (16 candidates, 3 s of sound) are weighed one by one, as the program does.
A system that cannot be had is told and left out; so are those for which --limit seconds are over. Prints a line a system as it goes,
one table at the end; --write keeps what was heard.
"""
import argparse
import json
import os
import platform
import re
import time
from dataclasses import dataclass, field
from pathlib import Path

from rapidfuzz.distance import Levenshtein

from debrief.hearing.models import find_model
from debrief.hearing.recogniser import NO_HINTS
from debrief.hearing.recording import duration_samples, probe
from debrief.hearing.speech_spans import account
from debrief.hearing.whisper import WhisperRecogniser, WhisperSettings
from debrief.hearing.windows import cut_windows, window_sound
from debrief.records.sound import Recording
from debrief.wording.number_words import NUMBER_WORDS

SYSTEMS = ("cpu:int8:8:1", *(f"cuda:{compute}:0:{batch}" for compute in ("float16", "int8_float16") for batch in (1, 8, 16, 32, 64)))
CANDIDATES = ("four", "five", "nine", "four point one", "four point two", "five point one", "five point two", "nine point one", "go", "no go",
              "stand by", "copy", "mark", "negative", "affirmative", "say again")
TITLES = ("system", "windows", "seconds", "hours an hour", "times the first", "words apart from the first", "numbers apart from the first",
          "words apart from single", "numbers apart from single", "questions a second")


@dataclass
class Measured:
    system: str
    windows: int
    sound_s: float
    seconds: float
    questions_a_second: float
    texts: list = field(repr=False)

    @property
    def words(self):
        return [re.findall(r"[a-z0-9]+(?:\.\d+)?", text.lower()) for text in self.texts]

    @property
    def numbers(self):
        return [[word for word in words if word[0].isdigit() or word in NUMBER_WORDS] for words in self.words]


def windows_of(paths):
    """Sounds and places (file, channel, from_s, to_s) of all windows, in an order that takes from everywhere; seconds of sound."""
    found, whole = [], 0.0
    for path in paths:
        info = probe(path)
        recording = Recording("r1", str(path), "", duration_samples(info), info.rate_hz, info.channels)
        whole += recording.duration / 16_000 * info.channels
        for stretches in account(recording).values():
            found += [(window_sound(recording, window), (path.name, window.source.channel, window.span.start_s, window.span.end_s))
                      for window in cut_windows(stretches)]
    step = 7
    return [item for first in range(step) for item in found[first::step]], whole


def measure(system, weights, sounds, singles, questions):
    device, compute, threads, batch = system.split(":")
    recogniser = WhisperRecogniser(find_model(weights), WhisperSettings(device=device, compute=compute, threads=int(threads), batch=int(batch)))
    size = recogniser.batch
    sounds = sounds if size > 1 else sounds[:singles]
    recogniser.hear(sounds[0], NO_HINTS)
    if size > 1:  # memory is asked for by the first batch; a long run asks once
        recogniser.hear_many(sounds[:8], NO_HINTS)
    began, heard = time.perf_counter(), []
    for first in range(0, len(sounds), size):
        heard += recogniser.hear_many(sounds[first:first + size], NO_HINTS) if size > 1 else [recogniser.hear(sounds[first], NO_HINTS)]
    seconds = time.perf_counter() - began
    texts = [" ".join(part.text for part in window if not part.set_aside) for window in heard]
    return Measured(system, len(sounds), sum(map(len, sounds)) / 16_000, seconds, weighing(recogniser, sounds, questions), texts)


def weighing(recogniser, sounds, count):
    questions = [(sounds[i % len(sounds)][16_000 * (i % 5):][:48_000], CANDIDATES, "roger") for i in range(count)]
    recogniser.weigh(*questions[0])
    began = time.perf_counter()
    for question in questions:
        recogniser.weigh(*question)
    return count / (time.perf_counter() - began)


def apart(left, right):
    """Edits over the windows that both heard, for each word of the left."""
    both = list(zip(left, right, strict=False))
    return sum(Levenshtein.distance(a, b) for a, b in both) / max(1, sum(len(a) for a, _ in both))


def line(run, done):
    first, kind = done[0], run.system.rsplit(":", 1)[0]
    single = next((item for item in done if item.system == f"{kind}:1"), run)
    speed = run.sound_s / run.seconds
    return (run.system, str(run.windows), f"{run.seconds:.1f}", f"{speed:.0f}", f"{speed * first.seconds / first.sound_s:.2f}",
            *(f"{apart(getattr(other, what), getattr(run, what)):.4f}" for other in (first, single) for what in ("words", "numbers")),
            f"{run.questions_a_second:.1f}")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("sounds", nargs="+", type=Path)
    parser.add_argument("--weights", default="base", help="a folder, or the name of a model that was fetched")
    parser.add_argument("--systems", nargs="+", default=SYSTEMS)
    parser.add_argument("--windows", type=int, default=64)
    parser.add_argument("--single", type=int, default=32)
    parser.add_argument("--questions", type=int, default=64)
    parser.add_argument("--limit", type=float, default=270)
    parser.add_argument("--write", type=Path)
    given = parser.parse_args()
    started = time.perf_counter()
    found, whole = windows_of(given.sounds)
    cutting, found = time.perf_counter() - started, found[:given.windows]
    print(f"{platform.machine()}, {os.cpu_count()} processors; {whole / 3600:.2f} h of sound, {cutting:.0f} s to find the speech in it; "
          f"{len(found)} windows, {sum(len(sound) for sound, _ in found) / 16_000 / 60:.1f} min", flush=True)
    done = []
    for system in given.systems:
        if time.perf_counter() - started > given.limit:
            print(f"{system}: left out, the time is over", flush=True)
            continue
        try:
            done.append(measure(system, given.weights, [sound for sound, _ in found], given.single, given.questions))
        except Exception as error:
            print(f"{system}: {type(error).__name__}: {error}", flush=True)
            continue
        print(json.dumps(dict(zip(TITLES, line(done[-1], done), strict=True))), flush=True)
        if given.write:
            given.write.write_text(json.dumps({"places": [place for _, place in found], "heard": {run.system: run.texts for run in done}}))
    print(f"\n| {' | '.join(TITLES)} |\n|{' --- |' * len(TITLES)}")
    for run in done:
        print(f"| {' | '.join(line(run, done))} |")
    print(f"\n{time.perf_counter() - started:.0f} s in all", flush=True)


if __name__ == "__main__":
    main()

"""Words heard against reference words: this tool, and plain faster-whisper with the same weights, voice filter off and on.

    python tests/bench/hearing_words.py SOUND=REFERENCE[:CHANNEL] ... [--systems ours plain filtered] [--show]

REFERENCE is a text file, or JSON Lines with a `text` each (and `loop`, `start_s` where given; sorted by start). One line a system:
word error, and the parts of it, and the speed as a multiple of real time.
"""
import argparse
import json
import time
from collections import Counter
from pathlib import Path

from faster_whisper import WhisperModel
from scoring import errors, rate

from debrief.hearing.hear import hear_window
from debrief.hearing.models import find_model, load_recogniser
from debrief.hearing.recording import duration_samples, probe, read_span
from debrief.hearing.speech_spans import account
from debrief.hearing.windows import cut_windows
from debrief.records.sound import Recording, Source
from debrief.timebase import Span


def reference(path: Path, loop: str | None) -> str:
    text = path.read_text(encoding="utf-8")
    if path.suffix != ".jsonl":
        return text
    rows = [json.loads(line) for line in text.splitlines() if line.strip()]
    rows = [row for row in rows if loop is None or row.get("loop") == loop]
    return " ".join(row["text"] for row in sorted(rows, key=lambda row: row.get("start_s", row.get("t", 0))))


def ours(path: Path, channel: int, recogniser) -> str:
    info = probe(path)
    recording = Recording("r1", str(path), "", duration_samples(info), info.rate_hz, info.channels)
    stretches = account(recording, [channel])[Source("r1", channel)]
    segments = [segment for window in cut_windows(stretches) for segment in hear_window(recogniser, recording, window)]
    return " ".join(segment.text for segment in segments if not segment.set_aside)


def plain(path: Path, channel: int, model: WhisperModel, filtered: bool) -> str:
    info = probe(path)
    sound = read_span(path, channel, Span(0, duration_samples(info)))
    segments, _ = model.transcribe(sound, language="en", beam_size=5, vad_filter=filtered)
    return " ".join(segment.text for segment in segments)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pairs", nargs="+")
    parser.add_argument("--systems", nargs="+", default=["ours", "plain", "filtered"])
    parser.add_argument("--show", action="store_true")
    given = parser.parse_args()
    recogniser = load_recogniser()
    model = WhisperModel(str(find_model().folder), device="cpu", compute_type="int8")
    for system in given.systems:
        total, seconds, began = Counter(), 0.0, time.perf_counter()
        for pair in given.pairs:
            sound, _, wanted = pair.partition("=")
            file, _, place = wanted.partition(":")
            channel, _, loop = place.partition(":")
            path, number = Path(sound), int(channel or 0)
            text = ours(path, number, recogniser) if system == "ours" else plain(path, number, model, system == "filtered")
            counts = errors(reference(Path(file), loop or None), text)
            total += Counter(counts)
            seconds += duration_samples(probe(path)) / 16_000
            if given.show:
                print(f"  {system} {path.name}: {rate(counts):.3f} {counts}")
        print(f"{system}: word error {rate(total):.3f} {dict(total)}, {seconds / (time.perf_counter() - began):.1f} x real time")


if __name__ == "__main__":
    main()

"""Words heard against reference words: this tool, and plain faster-whisper with the same weights, voice filter off and on.

    python tests/bench/hearing_words.py SOUND=REFERENCE[:CHANNEL[:LOOP]] ... [--systems ours plain filtered] [--sessions FOLDER] [--show]

REFERENCE is a text file, or JSON Lines with a `text` each (and `loop`, `start_s` where given; sorted by start). One line a system:
word error, and the parts of it, with 95 % bounds by bootstrap over the recordings, and the speed as a multiple of real time.
FOLDER holds session files NAME.toml for sounds NAME.*; others are heard without one.
"""
import argparse
import json
import time
from collections import Counter
from pathlib import Path

import numpy as np
from faster_whisper import WhisperModel
from scoring import errors, rate

from debrief.hearing.hear import hear_window
from debrief.hearing.models import find_model, load_recogniser
from debrief.hearing.recogniser import Hints
from debrief.hearing.recording import duration_samples, probe, read_span
from debrief.hearing.speech_spans import account
from debrief.hearing.windows import cut_windows
from debrief.records.sound import Recording, Source
from debrief.session import Session, load_session
from debrief.timebase import Span
from debrief.wording.hint_text import hint_text


def reference(path: Path, loop: str | None) -> str:
    text = path.read_text(encoding="utf-8")
    if path.suffix != ".jsonl":
        return text
    rows = [json.loads(line) for line in text.splitlines() if line.strip()]
    rows = [row for row in rows if loop is None or row.get("loop") == loop]
    return " ".join(row["text"] for row in sorted(rows, key=lambda row: row.get("start_s", row.get("t", 0))))


def session_of(path: Path, folder: Path | None) -> Session:
    file = None if folder is None else folder / f"{path.name.partition('.')[0]}.toml"
    return load_session(file)[0] if file is not None and file.exists() else Session()


def ours(path: Path, channel: int, recogniser, hints: Hints) -> str:
    info = probe(path)
    recording = Recording("r1", str(path), "", duration_samples(info), info.rate_hz, info.channels)
    stretches = account(recording, [channel])[Source("r1", channel)]
    segments = [segment for window in cut_windows(stretches) for segment in hear_window(recogniser, recording, window, hints)]
    return " ".join(segment.text for segment in segments if not segment.set_aside)


def plain(path: Path, channel: int, model: WhisperModel, filtered: bool) -> str:
    info = probe(path)
    sound = read_span(path, channel, Span(0, duration_samples(info)))
    segments, _ = model.transcribe(sound, language="en", beam_size=5, vad_filter=filtered)
    return " ".join(segment.text for segment in segments)


def bounds(each: list[dict[str, int]], draws: int = 2000) -> tuple[float, float]:
    """95 % bounds of the word error by drawing recordings anew; meaningful from several recordings on."""
    picks = np.random.default_rng(0).integers(0, len(each), (draws, len(each)))
    rates = [rate(sum((Counter(each[i]) for i in row), Counter())) for row in picks]
    return float(np.percentile(rates, 2.5)), float(np.percentile(rates, 97.5))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pairs", nargs="+")
    parser.add_argument("--systems", nargs="+", default=["ours", "plain", "filtered"])
    parser.add_argument("--sessions", type=Path)
    parser.add_argument("--show", action="store_true")
    given = parser.parse_args()
    recogniser = load_recogniser()
    model = WhisperModel(str(find_model().folder), device="cpu", compute_type="int8")
    for system in given.systems:
        total, each, seconds, began = Counter(), [], 0.0, time.perf_counter()
        for pair in given.pairs:
            sound, _, wanted = pair.partition("=")
            file, _, place = wanted.partition(":")
            channel, _, loop = place.partition(":")
            path, number = Path(sound), int(channel or 0)
            hints = Hints(prompt=hint_text(session_of(path, given.sessions)))
            text = ours(path, number, recogniser, hints) if system == "ours" else plain(path, number, model, system == "filtered")
            counts = errors(reference(Path(file), loop or None), text)
            each.append(counts)
            total += Counter(counts)
            seconds += duration_samples(probe(path)) / 16_000
            if given.show:
                print(f"  {system} {path.name}: {rate(counts):.3f} {counts}")
        low, high = bounds(each)
        print(f"{system}: word error {rate(total):.3f} ({low:.3f} to {high:.3f}) {dict(total)}, {seconds / (time.perf_counter() - began):.1f} x real time")


if __name__ == "__main__":
    main()

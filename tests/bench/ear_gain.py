"""What another ear gains over the plain weights, on the same windows: words, numbers, terms and the times of words.

    python tests/bench/ear_gain.py SOUND=REFERENCE ... --models base radio FOLDER ... [--sessions FOLDER] [--plain] [--wordless S] [--keep FOLDER]

REFERENCE as in hearing_words.py; where its lines have start_s and end_s (phrases), times are measured too. One line a model: word error with 95 % bounds
by bootstrap over the recordings, its parts, number words heard right of those said and false ones, terms of the session found, the 95th percentile of how
far a phrase's first word begins and its last one ends from the truth. --plain: each model also by itself (faster-whisper, voice filter on and off).
--wordless: first the words heard and used in S seconds each of twelve sounds without any, without a hint and with its style alone.
--keep: what was heard, as text.
"""
import argparse
import json
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import jiwer
import numpy as np
from faster_whisper import WhisperModel
from hearing_words import bounds, errors, plain, rate, reference, session_of
from noises import wordless
from scoring import normal
from terms_heard import count, spread

from debrief.hearing.hear import hear_window
from debrief.hearing.models import find_model
from debrief.hearing.recogniser import Hints
from debrief.hearing.recording import duration_samples, probe
from debrief.hearing.speech_spans import account
from debrief.hearing.whisper import WhisperRecogniser, WhisperSettings
from debrief.hearing.windows import Window, cut_windows
from debrief.records.sound import Recording, Segment, Source
from debrief.timebase import HEARING_RATE_HZ
from debrief.wording.correction import corrector_for
from debrief.wording.hint_text import STYLE, hint_text
from debrief.wording.vocabulary import plain_words

NEAR_S = 1.5
Placed = list[tuple[float, float, str]]


def windows_of(path: Path) -> tuple[Recording, Sequence[Window]]:
    info = probe(path)
    recording = Recording("r1", str(path), "", duration_samples(info), info.rate_hz, info.channels)
    return recording, cut_windows(account(recording, [0])[Source("r1", 0)])


def numbers(wanted: str, heard: str) -> Counter[str]:
    """Figures of the reference, those heard right, and those heard where they were not said."""
    left, right = normal(wanted), normal(heard)
    found = Counter(numbers=sum(word.isdigit() for word in left))
    if not left:
        return found + Counter(false_numbers=sum(word.isdigit() for word in right))
    kept: set[int] = set()
    for part in jiwer.process_words(" ".join(left), " ".join(right)).alignments[0]:
        if part.type == "equal":
            kept.update(range(part.hyp_start_idx, part.hyp_end_idx))
            found["right_numbers"] += sum(word.isdigit() for word in left[part.ref_start_idx:part.ref_end_idx])
    found["false_numbers"] += sum(word.isdigit() and index not in kept for index, word in enumerate(right))
    return found


def placed(segments: Sequence[Segment]) -> Placed:
    return [(word.span.start / HEARING_RATE_HZ, word.span.end / HEARING_RATE_HZ, part) for segment in segments for word in segment.words if word.span
            for part in normal(word.text)[:1]]


def strays(path: Path, words: Placed) -> tuple[list[float], list[float]]:
    """How far first words begin and last words end from their phrases' ends, for phrases whose outer words were heard nearby."""
    starts: list[float] = []
    ends: list[float] = []
    if path.suffix != ".jsonl":
        return starts, ends
    for line in map(json.loads, path.read_text(encoding="utf-8").splitlines()):
        said = normal(line["text"])
        if "end_s" not in line or not said:
            continue
        first = [abs(begin - line["start_s"]) for begin, _, word in words if word == said[0] and abs(begin - line["start_s"]) < NEAR_S]
        last = [abs(end - line["end_s"]) for _, end, word in words if word == said[-1] and abs(end - line["end_s"]) < NEAR_S]
        starts += [min(first)] if first else []
        ends += [min(last)] if last else []
    return starts, ends


def terms_of(path: Path, wanted: Path, segments: Sequence[Segment], sessions: Path | None) -> Counter[str]:
    if sessions is None or wanted.suffix != ".jsonl":
        return Counter()
    lines = [json.loads(line) for line in wanted.read_text(encoding="utf-8").splitlines()]
    session = session_of(path, sessions)
    entries = corrector_for(segments, session).vocabulary.entries
    terms = {entry.words for entry in entries if entry.planned or len(entry.words) > 1}
    said = [item for line in lines for item in spread(line["text"], line["start_s"], line["end_s"])]
    heard = [(word.span.start / HEARING_RATE_HZ, part) for segment in segments for word in segment.words if word.span for part in plain_words(word.text)]
    found = count(terms, said, heard)
    return Counter({f"terms_{name}": value for name, value in found.items() if name != "words"})


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("pairs", nargs="*")
    parser.add_argument("--wordless", type=float, default=0.0)
    parser.add_argument("--models", nargs="+", default=["base"])
    parser.add_argument("--sessions", type=Path)
    parser.add_argument("--plain", action="store_true")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--threads", type=int, default=0)
    given = parser.parse_args()
    pairs = [(Path(sound), Path(wanted)) for sound, _, wanted in (pair.partition("=") for pair in given.pairs)]
    cut = {sound: windows_of(sound) for sound, _ in pairs}
    for model in given.models:
        if given.wordless:
            heard_in_nothing(model, given)
        if pairs:
            with_ours(model, pairs, cut, given)
        for filtered in (False, True) if given.plain else ():
            weights = WhisperModel(str(find_model(model).folder), device="cpu", compute_type="int8", cpu_threads=given.threads)
            each = [errors(reference(wanted, None), plain(sound, 0, weights, filtered)) for sound, wanted in pairs]
            told(f"{model} plain, filter {'on' if filtered else 'off'}", each, Counter())


def heard_in_nothing(model: str, given: argparse.Namespace) -> None:
    recogniser = WhisperRecogniser(find_model(model), WhisperSettings(device="cpu", threads=given.threads))
    for hint in ("", STYLE):
        found = {name: " ".join(part.text for part in recogniser.hear(sound, Hints(prompt=hint)) if not part.set_aside)
                 for name, sound in wordless(given.wordless)}
        print(f"{model}, sounds without words, {'the style as a hint' if hint else 'no hint'}: {sum(len(text.split()) for text in found.values())} words used "
              f"{ {name: text for name, text in found.items() if text} }", flush=True)


def with_ours(model: str, pairs: list[tuple[Path, Path]], cut: dict, given: argparse.Namespace) -> None:
    recogniser = WhisperRecogniser(find_model(model), WhisperSettings(device="cpu", threads=given.threads))
    each, more, began, starts, ends = [], Counter(), time.perf_counter(), [], []
    for sound, wanted in pairs:
        recording, windows = cut[sound]
        hints = Hints(prompt=hint_text(session_of(sound, given.sessions)))
        segments = [segment for window in windows for segment in hear_window(recogniser, recording, window, hints) if not segment.set_aside]
        text = " ".join(segment.text for segment in segments)
        each.append(errors(reference(wanted, None), text))
        more += numbers(reference(wanted, None), text) + terms_of(sound, wanted, segments, given.sessions)
        begun, ended = strays(wanted, placed(segments))
        starts, ends = starts + begun, ends + ended
        if given.keep:
            given.keep.mkdir(parents=True, exist_ok=True)
            (given.keep / f"{Path(model).name}.{sound.stem}.txt").write_text(text + "\n", encoding="utf-8")
        print(f"  {model} {sound.name}: {rate(each[-1]):.3f} {each[-1]}", flush=True)
    told(f"{model} ours", each, more)
    if starts and ends:
        print(f"  first words begin within {np.percentile(starts, 95):.2f} s, last words end within {np.percentile(ends, 95):.2f} s in 95 of 100 "
              f"({len(starts)}, {len(ends)} phrases)")
    print(f"  {sum(cut[sound][0].duration for sound, _ in pairs) / HEARING_RATE_HZ / (time.perf_counter() - began):.1f} x real time", flush=True)


def told(name: str, each: list[dict[str, int]], more: Counter[str]) -> None:
    total = sum((Counter(part) for part in each), Counter())
    low, high = bounds(each)
    print(f"{name}: word error {rate({**dict.fromkeys(each[0], 0), **total}):.3f} ({low:.3f} to {high:.3f}) {dict(total)} {dict(more)}", flush=True)


if __name__ == "__main__":
    main()

"""Seconds from words to checked rows on one core, for 700, 7 000 and 100 000 turns: is it quick, and does it grow in step with the talk?

    python tests/bench/reading_speed.py [--turns N ...]

The talk is an invented loop (golden/trades) said again and again, as a recogniser may write it; dictionaries are loaded before the clock starts.
"""
import argparse
import json
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from other_trades import FOLDER, heard, read_loop

from debrief.checks.registry import judge
from debrief.hearing.saved_transcript import read_transcript
from debrief.pipeline import lexicon_for, read
from debrief.records.sound import Segment, Source
from debrief.session import Session, load_session
from debrief.wording.correction import read_all


def segments_of(turns: int) -> tuple[list[Segment], Session]:
    loop = read_loop("submersible")
    lines = [json.loads(text) for text in heard(loop)]
    length_s = lines[-1]["end_s"] + 5.0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "talk.jsonl"
        with path.open("w", encoding="utf-8") as out:
            for number in range(turns):
                line, shift = lines[number % len(lines)], number // len(lines) * length_s
                words = [{**word, "start_s": word["start_s"] + shift, "end_s": word["end_s"] + shift} for word in line["words"]]
                print(json.dumps({**line, "start_s": line["start_s"] + shift, "end_s": line["end_s"] + shift, "words": words}), file=out)
        return list(read_transcript(path, Source("t1", 0))), load_session(loop.session)[0]


def seconds_for(turns: int) -> tuple[float, float, float]:
    segments, session = segments_of(turns)
    lexicon = lexicon_for(session, FOLDER)
    start = time.process_time()
    tokens = read_all(segments, session, lexicon)
    corrected = time.process_time()
    reading = read(segments, tokens, session)
    harvested = time.process_time()
    judge(reading.rows, reading.talk, clocks={}, sound=False)
    return corrected - start, harvested - corrected, time.process_time() - harvested


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--turns", type=int, nargs="*", default=[700, 7_000, 100_000])
    seconds_for(24)
    for turns in parser.parse_args().turns:
        parts = seconds_for(turns)
        print(f"{turns} turns: correction {parts[0]:.2f} s, harvest {parts[1]:.2f} s, checks {parts[2]:.2f} s, together {sum(parts):.2f} s, "
              f"{1000 * sum(parts) / turns:.2f} ms a turn")


if __name__ == "__main__":
    main()

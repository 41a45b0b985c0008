"""Kills at random moments, many of them, and what was lost: nothing, or this ends with an AssertionError.

    python tests/bench/kills.py [--seed 1] [--count 200] [--only runs] [--quick]

count: kills of runs; a fortieth of it goes to runs with the real recogniser ("heard"), a quarter to each other round (harvests, edits,
exports, erasures, additions to an archive). --quick: 15 s of sound in place of 40, voices told by their spectrum alone, and the whole count
for each round but "heard", which is left out. Prints a line a round and, at the end, the sum.
"""
import argparse
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import killing_rounds
from killing_rounds import ROUNDS

from debrief import pipeline


def main() -> None:
    given = argparse.ArgumentParser()
    given.add_argument("--seed", type=int, default=1)
    given.add_argument("--count", type=int, default=200)
    given.add_argument("--only", choices=sorted(ROUNDS))
    given.add_argument("--quick", action="store_true")
    options = given.parse_args()
    shares = {"runs": 1, "heard": 40}
    if options.quick:
        killing_rounds.SECONDS = 15.0
        pipeline.find_voice_network = pipeline.load_voice_network = lambda: None
        shares = dict.fromkeys(ROUNDS, 1) | {"heard": 0}
    done = 0
    for name, kills in ROUNDS.items():
        share = shares.get(name, 4)
        if share and options.only in (None, name):
            count = max(1, options.count // share)
            began = time.monotonic()
            with tempfile.TemporaryDirectory() as folder:
                met = kills(Path(folder), options.seed, count)
            done += count
            print(f"{name}: {count} kills (seed {options.seed}), {met} of them in the middle of the work, nothing lost, "
                  f"{time.monotonic() - began:.0f} s", flush=True)
    print(f"{done} kills, nothing lost")


if __name__ == "__main__":
    main()

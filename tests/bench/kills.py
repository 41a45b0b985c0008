"""Kills at random moments, many of them, and what was lost: nothing, or this ends with an AssertionError.

    python tests/bench/kills.py [--seed 1] [--count 200] [--only runs]

count: kills of runs; a fortieth of it goes to runs with the real recogniser ("heard"), a quarter to each other round (harvests, edits,
exports, erasures, additions to an archive). Prints a line a round.
"""
import argparse
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from killing_rounds import ROUNDS


def main() -> None:
    given = argparse.ArgumentParser()
    given.add_argument("--seed", type=int, default=1)
    given.add_argument("--count", type=int, default=200)
    given.add_argument("--only", choices=sorted(ROUNDS))
    options = given.parse_args()
    for name, kills in ROUNDS.items():
        if options.only in (None, name):
            count = max(1, options.count // {"runs": 1, "heard": 40}.get(name, 4))
            began = time.monotonic()
            with tempfile.TemporaryDirectory() as folder:
                met = kills(Path(folder), options.seed, count)
            print(f"{name}: {count} kills (seed {options.seed}), {met} of them in the middle of the work, nothing lost, "
                  f"{time.monotonic() - began:.0f} s", flush=True)


if __name__ == "__main__":
    main()

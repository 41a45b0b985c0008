"""Thousands of damaged files of each format: how many are read, refused, or break something; and whether the times of what is left are right.

    python tests/bench/damaged_sound_many.py [--seed 0] [--count 2000] [--only mp3]

The seeds are seed ... seed + count - 1; each names its damage. Prints a line a format, and one a kind of damage with its pieces of sound
that say the second they are placed at (right), another (slipped) or none.
"""
import argparse
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from damaged_sound import FORMATS, tones, try_out, write_sound


def main() -> None:
    given = argparse.ArgumentParser()
    given.add_argument("--seed", type=int, default=0)
    given.add_argument("--count", type=int, default=2000)
    given.add_argument("--only", choices=sorted(FORMATS))
    options = given.parse_args()
    for ending in [options.only] if options.only else FORMATS:
        with tempfile.TemporaryDirectory() as folder:
            data = write_sound(Path(folder) / f"whole.{ending}", tones()).read_bytes()
            began = time.monotonic()
            found = try_out(Path(folder) / f"damaged.{ending}", data, range(options.seed, options.seed + options.count))
        print(f"{ending}: {options.count} damaged files, {found.read} read, {found.refused} refused, {len(found.wrong)} wrong, "
              f"{time.monotonic() - began:.0f} s")
        for kind, times in sorted(found.times.items()):
            print(f"  {kind}: {times['right']} right, {times['slipped']} slipped, {times['unclear']} unclear")
        for seed, what in found.wrong[:20]:
            print(f"  seed {seed}: {what}")
        sys.stdout.flush()


if __name__ == "__main__":
    main()

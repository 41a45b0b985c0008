"""What is found in the loops full of values, by loop: python tests/bench/values.py [--faults] [NAME ...]

Figures: readouts F1, parameter and class right of those found, values found with a wrong unit, sure rows that are wrong, labels that a sure row finds.
"""
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import values_loops as loops


def main(arguments: list[str]) -> None:
    names = tuple(name for name in arguments if not name.startswith("--")) or loops.NAMES
    with tempfile.TemporaryDirectory() as made:
        for style in loops.STYLES:
            for some in (*((name,) for name in names), names):
                tally, sure, faults = loops.told_of(some, style, Path(made))
                if not tally:
                    continue
                found, wrong = tally["found"], len(sure.wrong)
                who = some[0] if len(some) == 1 else "all"
                print(f"{style:10} {who:16} F1 {loops.f1(tally):.3f}  named {tally['named']}/{found}  "
                      f"class {tally['classed']}/{found}  unit wrong {tally['unit']}  "
                      f"sure wrong {wrong}/{sure.sure}  sure and right {sure.right / max(1, sure.labels):.2f}")
                if "--faults" in arguments and len(some) == 1:
                    print(*(f"    {fault}" for fault in faults), *(f"    SURE {fault}" for fault in sure.wrong), sep="\n")


main(sys.argv[1:])

"""How many errors a given listening time settles: the listening list against random order, on labelled sound.

    python tests/bench/listening.py SETS SCORER [--runs RUNS] [--share 0.2]

Errors are wrong value rows (whatever their certainty) and value labels that no right row finds. A wrong row is settled when its place is
played; a missed label when at least half of its line, or three seconds of it, is played by an item of the list. Listening time is the
given share of the seconds in which somebody speaks, each item's start and padding counted.
"""
import argparse
import random
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from labelled_rows import VALUE_KINDS, Judged, heard, runs, spoken_lines

from debrief.checks.listening_list import fitting, listening_list
from debrief.checks.registry import CHECKS
from debrief.checks.review import Review, run_checks
from debrief.records.findings import ListeningItem

ORDERS = 20
HALF, ENOUGH_S = 0.5, 3.0


def played(items: Iterable[ListeningItem]) -> list[tuple[float, float]]:
    return [(item.part.start_s, item.part.start_s + (item.part.span.duration_s if item.part.span else 0.0)) for item in items
            if item.part.start_s is not None]


def settled(item: Judged, lines: Sequence[tuple[float, float]], items: Iterable[ListeningItem]) -> tuple[int, int]:
    """Errors settled, errors in all."""
    spans = played(items)
    wrong = [row.place.start_s for row, verdict in zip(item.review.rows, item.verdicts, strict=True) if verdict is False and row.kind in VALUE_KINDS]
    found = sum(at is not None and any(start - 0.5 <= at <= end + 0.5 for start, end in spans) for at in wrong)
    missed = list(item.missed)
    for index in missed:
        start, end = lines[index]
        heard_s = sum(max(0.0, min(end, b) - max(start, a)) for a, b in spans)
        found += heard_s >= min(HALF * (end - start), ENOUGH_S)
    return found, len(wrong) + len(missed)


def finished(review: Review) -> Review:
    """The review after the checks that the bench leaves out."""
    return run_checks(review, CHECKS[next(i for i, check in enumerate(CHECKS) if check.name == "certainty"):])[0]


def measure(given: Iterable[Judged], sets: Path, share: float) -> Iterator[tuple[str, float, float, float, int]]:
    """For each session: its name, errors settled by the list, by random order, by all of it, and errors in all."""
    for item in given:
        lines = spoken_lines(sets, item.session)
        review = finished(item.review)
        order = listening_list(review)
        budget = share * sum(end - start for start, end in lines)
        best, whole = settled(item, lines, fitting(order, budget))
        chance = []
        for seed in range(ORDERS):
            mixed = list(order)
            random.Random(seed).shuffle(mixed)
            chance.append(settled(item, lines, fitting(mixed, budget))[0])
        every = settled(item, lines, order)[0]
        yield f"{item.session} {item.condition}", best, sum(chance) / ORDERS, every, whole


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("sets", type=Path)
    parser.add_argument("scorer", type=Path)
    parser.add_argument("--runs", type=Path)
    parser.add_argument("--share", type=float, default=0.2)
    given = parser.parse_args()
    items = list(runs(given.runs, given.sets, given.scorer)) if given.runs else list(heard(given.sets, "", given.scorer))
    items = [item for item in items if "15dB" in item.condition or "mixed" in item.condition]
    total = [0.0, 0.0, 0.0, 0.0]
    for name, best, chance, every, whole in measure(items, given.sets, given.share):
        print(f"{name}: list {best / whole:.2f}, random order {chance / whole:.2f}, the whole list {every / whole:.2f}, of {whole} errors")
        total = [a + b for a, b in zip(total, (best, chance, every, whole), strict=True)]
    print(f"all: list {total[0] / total[3]:.3f}, random order {total[1] / total[3]:.3f}, the whole list {total[2] / total[3]:.3f}, of {total[3]:.0f}")


if __name__ == "__main__":
    main()

"""How many errors a given listening time settles: the listening list against random order, on labelled sound.

    python tests/bench/listening.py SETS SCORER [--runs RUNS] [--share 0.2]

Errors are wrong value rows (whatever their certainty) and value labels that no right row finds. An error is settled when one item of the list
plays its words: those of the row's place, or those that speak the missed value. Listening time is the given share of the seconds in which
somebody speaks; counted is the sound that is played, padding and all (--start adds what beginning an item costs a person). "True" is the
order of somebody who knows every error and plays nothing else.
"""
import argparse
import random
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from labelled_rows import VALUE_KINDS, Judged, heard, runs, spoken_lines, where_said

from debrief.checks.listening_list import PAD_S, listening_list
from debrief.checks.registry import CHECKS
from debrief.checks.review import Review, run_checks
from debrief.records.findings import ListeningItem

ORDERS = 20
SLACK_S = 0.3
"""By so much the first or the last word of an error may stand outside of what is played: words are spread over their phrase by their letters."""
Stretch = tuple[float, float]


def played(items: Iterable[ListeningItem]) -> list[Stretch]:
    """What is heard of items: their places, padded."""
    return [(item.part.start_s - PAD_S, item.part.start_s + (item.part.span.duration_s if item.part.span else 0.0) + PAD_S) for item in items
            if item.part.start_s is not None]


def errors(item: Judged, sets: Path) -> list[Stretch]:
    """Where the errors of a session are heard."""
    wrong = [(row.place.start_s, row.place.start_s + (row.place.span.duration_s if row.place.span else 0.0))
             for row, verdict in zip(item.review.rows, item.verdicts, strict=True)
             if verdict is False and row.kind in VALUE_KINDS and row.place.start_s is not None]
    return wrong + where_said(sets, item.session, item.missed)


def settled(wanted: Iterable[Stretch], spans: Sequence[Stretch]) -> int:
    """How many errors are heard."""
    return sum(any(a <= start + SLACK_S and b >= end - SLACK_S for a, b in spans) for start, end in wanted)


def within(spans: Iterable[Stretch], budget_s: float, start_s: float) -> Iterator[Stretch]:
    """Stretches in their order, as many as fit."""
    for a, b in spans:
        if b - a + start_s <= budget_s:
            budget_s -= b - a + start_s
            yield a, b


def true_order(wanted: Sequence[Stretch], start_s: float) -> list[Stretch]:
    """Stretches of nothing but errors, most errors a second first."""
    made: list[Stretch] = []
    for a, b in sorted((start - PAD_S, end + PAD_S) for start, end in wanted):
        if made and a <= made[-1][1]:
            made[-1] = (made[-1][0], max(b, made[-1][1]))
        else:
            made.append((a, b))
    return sorted(made, key=lambda span: -settled(wanted, [span]) / (span[1] - span[0] + start_s))


def finished(review: Review) -> Review:
    """The review after the checks that the bench leaves out."""
    return run_checks(review, CHECKS[next(i for i, check in enumerate(CHECKS) if check.name == "certainty"):])[0]


def measure(item: Judged, sets: Path, share: float, start_s: float) -> tuple[float, float, float, float, int]:
    """Errors settled by the list, by random order, by true order, by the whole list; errors in all."""
    wanted, order = errors(item, sets), played(listening_list(finished(item.review)))
    budget = share * sum(end - start for start, end in spoken_lines(sets, item.session))

    def told(spans: Iterable[Stretch]) -> int:
        return settled(wanted, list(within(spans, budget, start_s)))

    chance = [told(random.Random(seed).sample(order, len(order))) for seed in range(ORDERS)]
    return told(order), sum(chance) / ORDERS, told(true_order(wanted, start_s)), settled(wanted, order), len(wanted)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("sets", type=Path)
    parser.add_argument("scorer", type=Path)
    parser.add_argument("--runs", type=Path)
    parser.add_argument("--share", type=float, default=0.2)
    parser.add_argument("--start", type=float, default=0.0, help="seconds that beginning an item costs beside its sound")
    given = parser.parse_args()
    items = list(runs(given.runs, given.sets, given.scorer)) if given.runs else list(heard(given.sets, "", given.scorer))
    total = [0.0] * 5
    for item in items:
        if "15dB" in item.condition or "mixed" in item.condition:
            found = measure(item, given.sets, given.share, given.start)
            print(f"{item.session} {item.condition}: {_line(found)}")
            total = [a + b for a, b in zip(total, found, strict=True)]
    print(f"all: {_line(total)}")


def _line(found: Sequence[float]) -> str:
    *parts, whole = found
    names = ("list", "random order", "true order", "the whole list")
    return ", ".join(f"{name} {part / whole:.3f}" for name, part in zip(names, parts, strict=True)) + f", of {whole:.0f} errors"


if __name__ == "__main__":
    main()

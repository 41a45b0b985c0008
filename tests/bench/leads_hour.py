"""A lead's hour: how much listening and how many keys it takes until the wrong rows of a session are dealt with, in the order of the listening
list on the review page, against reading the rows in the order of time and hearing each.

    debrief demo RUN && python tests/bench/leads_hour.py RUN                        # wrong: what matches nothing written down for the demo
    python tests/bench/leads_hour.py RUNS/NAME.CONDITION --sets SETS --scorer SCORER     # wrong: what the labels' scorer says (labelled_rows.py)

Ways: `time, each` plays every row's own sound in the order of time; `time, page` and `list, page` are the page, where a row whose words were
played before is not played again and one key takes all rows of a sound that are right; `known` visits the wrong rows alone, as nobody can:
what is below it no order reaches. Seconds are a row's clip (its words with half a second around) and one to get going. A right row costs one key,
a wrong one the key that opens its fields, KEYS_TYPED, Enter and the step on. Rows that say that something was not said are left out: no sound settles them.
"""
import argparse
import math
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from demo_rows import compare, expected_rows, read_tables
from labelled_rows import judged

from debrief.checks.listening_list import PAD_S, START_S
from debrief.checks.review import Review
from debrief.desk.page import asked
from debrief.desk.page.worktop import Worktop
from debrief.desk.sheet import clip_place
from debrief.records.rows import Row
from debrief.records.sound import Source
from debrief.store import edits
from debrief.timebase import Span

KEYS_TYPED = 6
SHARES = (0.5, 0.9, 1.0)
Clip = tuple[Source, Span]
Paid = tuple[float, int]
"""Seconds and keys until a wrong row was dealt with."""


@dataclass(frozen=True)
class Visit:
    """One entry on the way: its row (None: talk without one), what plays for it, and whether the row is wrong."""

    number: int | None
    clip: Clip | None
    wrong: bool


def wrong_of_demo(run: Path, expected: Path) -> set[int]:
    known = expected_rows(expected)
    return {int(row["row"]) for kind, rows in read_tables(run).items() for row in rows
            if compare({kind: known.get(kind, [])}, {kind: [row]})[kind].wrong}


def wrong_by_labels(run: Path, rows: Sequence[Row], sets: Path, scorer: Path) -> set[int]:
    name, _, condition = run.name.partition(".")
    told = judged(Review(tuple(rows), None), sets, (name, condition), scorer)  # type: ignore[arg-type]  # the scorer reads tables alone
    return {row.number or 0 for row, verdict in zip(rows, told.verdicts, strict=True) if verdict is False}


def entries(top: Worktop, order: asked.Order) -> Iterator[tuple[int | None, Clip | None]]:
    rows = {item.row.number: item.row for item in edits.all_standing(top.store.db)}
    after = None
    while found := top.index.find(asked.RowsQuery(order=order, after=after)).entries:
        for entry in found:
            if entry.number is None:
                part = top.index.items[entry.position].part
                yield None, (part.source, part.span) if part.source and part.span else None
            elif rows[entry.number].place.role != "searched and absent":
                yield entry.number, clip_place(rows[entry.number])
        after = found[-1].key


def each(way: Sequence[Visit]) -> list[Paid]:
    """Every entry is played and decided by itself."""
    seconds, keys, paid = 0.0, 0, []
    for visit in way:
        seconds += cost_s(visit.clip)
        keys += keys_of([visit], together=False)
        paid += [(seconds, keys)] if visit.wrong else []
    return paid


def on_page(way: Sequence[Visit]) -> list[Paid]:
    """What was played is not played again; what lies in the sound just played is decided with it."""
    heard: list[Clip] = []
    done: set[int | None] = set()
    seconds, keys, paid = 0.0, 0, []
    for visit in way:
        if visit.number is not None and visit.number in done:
            continue
        if visit.clip and not lies_in(visit.clip, heard):
            seconds += cost_s(visit.clip)
            heard.append(visit.clip)
        group = [visit] if visit.number is None else [item for item in way if item.number == visit.number or (
            item.number is not None and item.number not in done and item.clip and lies_in(item.clip, heard[-1:]))]
        keys += keys_of(group, together=True)
        done |= {item.number for item in group}
        paid += [(seconds, keys)] * sum(item.wrong for item in group)
    return paid


def lies_in(clip: Clip, heard: Sequence[Clip]) -> bool:
    return any(clip[0] == source and span.start <= clip[1].start and clip[1].end <= span.end for source, span in heard)


def cost_s(clip: Clip | None) -> float:
    return clip[1].duration_s + 2 * PAD_S + START_S if clip else 0.0


def keys_of(group: Sequence[Visit], *, together: bool) -> int:
    """Wrong rows are opened, typed, saved and left; the right ones cost one key each, or one in all."""
    wrong = sum(item.wrong for item in group)
    right = len(group) - wrong
    return wrong * (3 + KEYS_TYPED) + (min(1, right) if together else right)


def ways_of(run: Path, wrong_of: Callable[[Sequence[Row]], set[int]]) -> dict[str, list[Paid]]:
    top = Worktop(run)
    try:
        wrong = wrong_of([item.row for item in edits.all_standing(top.store.db)])
        by: dict[str, list[Visit]] = {order: [Visit(number, clip, number in wrong) for number, clip in entries(top, order)]  # type: ignore[arg-type]
                                      for order in ("time", "listening")}
    finally:
        top.close()
    in_time = [visit for visit in by["time"] if visit.number is not None]
    print(f"{run.name}: {len(in_time)} rows with sound, {sum(visit.wrong for visit in in_time)} of them wrong")
    return {"time, each": each(in_time), "time, page": on_page(in_time), "list, page": on_page(by["listening"]),
            "known": on_page([visit for visit in in_time if visit.wrong])}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("run", type=Path)
    parser.add_argument("--expected", type=Path, default=Path(__file__).resolve().parents[2] / "demo_audio")
    parser.add_argument("--sets", type=Path)
    parser.add_argument("--scorer", type=Path)
    given = parser.parse_args()
    ways = ways_of(given.run, (lambda rows: wrong_by_labels(given.run, rows, given.sets, given.scorer)) if given.sets
                   else lambda _: wrong_of_demo(given.run, given.expected))
    for share in SHARES:
        at = math.ceil(share * len(ways["known"])) - 1
        base_s, base_keys = ways["time, each"][at]
        print(f"{share:.0%} of the wrong rows: " + "; ".join(f"{name} {way[at][0]:.0f} s ({way[at][0] / base_s:.2f}), {way[at][1]} keys "
                                                             f"({way[at][1] / base_keys:.2f})" for name, way in ways.items()))


if __name__ == "__main__":
    main()

"""A lead's hour: how much listening and how many keys it takes until the wrong rows of the demo are dealt with, by the listening list's
order against the order of time.

    debrief demo RUN && python tests/bench/leads_hour.py RUN [--expected demo_audio]

The page plays a place once for all rows that lie in it. A row that is right costs one key (a); a row that is wrong costs the key that
opens its fields, what is typed (KEYS_TYPED) and Enter. Wrong is a row that matches nothing that a careful listener wrote down for the demo
(tests/demo_rows.py). Seconds are those of the listening list: the sound with half a second around it and a second to get going; of a long stretch the page
plays a minute.
"""
import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from demo_rows import compare, expected_rows, read_tables

from debrief.desk.page import asked
from debrief.desk.page.sounds import LONGEST_S
from debrief.desk.page.worktop import Worktop

KEYS_TYPED = 6
SHARES = (0.5, 0.9, 1.0)


@dataclass(frozen=True)
class Visit:
    """One entry on the way: the place that plays, what it costs, and whether its row is wrong."""

    position: int
    seconds: float
    wrong: bool


def wrong_rows(run: Path, expected: Path) -> set[int]:
    known = expected_rows(expected)
    return {int(row["row"]) for kind, rows in read_tables(run).items() for row in rows
            if compare({kind: known.get(kind, [])}, {kind: [row]})[kind].wrong}


def visits(run: Path, order: asked.Order, wrong: set[int]) -> list[Visit]:
    top = Worktop(run)
    try:
        entries = top.index.find(asked.RowsQuery(order=order)).entries
        found: list[Visit] = []
        after = None
        while entries:
            found += [Visit(e.position, min(LONGEST_S, top.index.items[e.position].seconds) if e.position < len(top.index.items) else 0.0,
                            e.number in wrong) for e in entries]
            after = entries[-1].key
            entries = top.index.find(asked.RowsQuery(order=order, after=after)).entries
        return found
    finally:
        top.close()


def cost(way: Sequence[Visit], share: float) -> tuple[float, int, int]:
    """Seconds of listening, keys and entries until that share of the wrong rows is dealt with; a place is played once."""
    goal = share * sum(visit.wrong for visit in way)
    heard: set[int] = set()
    seconds, keys, met = 0.0, 0, 0
    for count, visit in enumerate(way, 1):
        seconds += 0.0 if visit.position in heard else visit.seconds
        heard.add(visit.position)
        keys += 2 + KEYS_TYPED if visit.wrong else 1
        met += visit.wrong
        if met >= goal:
            return seconds, keys, count
    return seconds, keys, len(way)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n", maxsplit=1)[0])
    parser.add_argument("run", type=Path)
    parser.add_argument("--expected", type=Path, default=Path(__file__).resolve().parents[2] / "demo_audio")
    given = parser.parse_args()
    wrong = wrong_rows(given.run, given.expected)
    ways = {order: visits(given.run, order, wrong) for order in ("listening", "time")}
    print(f"{len(ways['time'])} entries, {len(wrong)} rows that match nothing written down")
    for share in SHARES:
        (a_s, a_keys, a_n), (b_s, b_keys, b_n) = cost(ways["listening"], share), cost(ways["time"], share)
        print(f"{share:.0%} of them: listening list {a_s:.0f} s, {a_keys} keys, {a_n} entries; in time {b_s:.0f} s, {b_keys} keys, {b_n} entries; "
              f"seconds {a_s / b_s:.2f}, keys {a_keys / b_keys:.2f}")


if __name__ == "__main__":
    main()

"""A lead's hour: how much listening and how many keys it takes until the wrong rows of a session are dealt with, in the order of the listening
list on the review page, against reading the rows in the order of time and hearing each.

    debrief demo RUN && python tests/bench/leads_hour.py RUN                        # wrong: what matches nothing written down for the demo
    python tests/bench/leads_hour.py RUNS/NAME.CONDITION --sets SETS --scorer SCORER     # wrong: what the labels' scorer says (labelled_rows.py)

Ways: `time, each` plays every row's own sound in the order of time; `time, page` and `list, page` are the page, where rows that run together
are one playing (page/passages.py), what was played before is not played again and one key takes all rows of a sound that are right; `list, quicker`
plays at one and a half times the speed, which not every loop allows; `list, alone` is the page with passages switched off; `known` visits the
wrong rows alone, as nobody can: what is below it no order reaches. Seconds are the sound with its pad and one to get going. Rows that say that
something was not said are left out: no sound settles them.

Keys in the order of time: one for a right row, one for a row that is rejected, else the key that opens its fields, KEYS_TYPED, Enter and the step on.
On the page: one for all right rows of a sound; one to get to a wrong row, and then one to reject it, two where another reading of it is right (x, a),
one for all rows of a name that was put right before (R), else as above. What mends a row is told by the labels' scorer, asked with every other
reading and with every name of the plan; on the demo nothing tells it, so that every wrong row is typed.
"""
import argparse
import math
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from demo_rows import compare, expected_rows, read_tables
from labelled_rows import judged

from debrief.checks.listening_list import PAD_S, START_S
from debrief.checks.review import Review
from debrief.desk.page import asked
from debrief.desk.page.passages import passage
from debrief.desk.page.worktop import Worktop
from debrief.desk.sheet import clip_place
from debrief.records.rows import Field, Part, Row
from debrief.records.sound import Source
from debrief.session import Session
from debrief.store import edits
from debrief.timebase import Span

KEYS_TYPED = 6
SHARES = (0.5, 0.9, 1.0)
QUICKER = 1.5
"""The page's quicker playing."""
Clip = tuple[Source, Span]
Paid = tuple[float, int]
"""Seconds and keys until a wrong row was dealt with."""


Mend = tuple[str, ...]
"""What mends a wrong row: ('reject',), ('other reading',), ('name', field, was, becomes) or ('type',); () for a right one."""
REJECTED = frozenset(("false", "trap"))
NAMED = {"readouts": "parameter", "ratings": "axis", "clock_calls": "clock"}


@dataclass(frozen=True)
class Visit:
    """One entry on the way: its row, what plays for it, and what mends it."""

    number: int
    clip: Clip | None
    mend: Mend

    @property
    def wrong(self) -> bool:
        return bool(self.mend)


def mends_of_demo(run: Path, expected: Path) -> dict[int, Mend]:
    known = expected_rows(expected)
    return {int(row["row"]): ("type",) for kind, rows in read_tables(run).items() for row in rows
            if compare({kind: known.get(kind, [])}, {kind: [row]})[kind].wrong}


def mends_by_labels(run: Path, rows: Sequence[Row], session: Session, given: tuple[Path, Path]) -> dict[int, Mend]:
    """given: the sets and the scorer."""
    name, _, condition = run.name.partition(".")

    def told(asked_of: Sequence[Row]) -> tuple[Sequence[bool | None], Mapping[int, str]]:
        found = judged(Review(tuple(asked_of), None), given[0], (name, condition), given[1])  # type: ignore[arg-type]  # the scorer reads tables alone
        return found.verdicts, found.why

    verdicts, why = told(rows)
    mends: dict[int, Mend] = {at: ("reject",) if why.get(at) in REJECTED else ("type",) for at, verdict in enumerate(verdicts) if verdict is False}
    for variants, mend in (*_others(rows, mends), *_names(rows, mends, session)):
        now, _ = told([variants.get(at, row) for at, row in enumerate(rows)])
        for at in variants:
            if now[at] and mends[at] == ("type",):
                mends[at] = mend(at)
    return {rows[at].number or 0: mend for at, mend in mends.items()}


Tried = tuple[dict[int, Row], Callable[[int], Mend]]


def _others(rows: Sequence[Row], mends: Mapping[int, Mend]) -> Iterator[Tried]:
    """Wrong rows with their first other reading taken, then with their second ..."""
    readings = {at: [rows[at].with_fields(**{name: replace(item, value=other)}) for name, item in rows[at].fields.items() for other in item.others]
                for at, mend in mends.items() if mend == ("type",)}
    for place in range(max(map(len, readings.values()), default=0)):
        yield {at: found[place] for at, found in readings.items() if place < len(found)}, lambda _: ("other reading",)


def _names(rows: Sequence[Row], mends: Mapping[int, Mend], session: Session) -> Iterator[Tried]:
    """Wrong rows under each name of the plan."""
    left = {at: NAMED[rows[at].kind] for at, mend in mends.items() if mend == ("type",) and rows[at].kind in NAMED}
    for name in _planned(session):
        yield ({at: rows[at].with_fields(**{field: Field(name)}) for at, field in left.items()},
               lambda at, name=name: ("name", left[at], str(rows[at].get(left[at])), name))  # type: ignore[misc]


def _planned(session: Session) -> list[str]:
    readouts = [name for card in session.cards for item in card.readouts for name in (item.what, *item.also_called)]
    axes = [axis for card in session.cards for item in card.ratings for axis in item.axes]
    return list(dict.fromkeys([*readouts, *axes, *(item.what for item in session.parameters), *(clock.name for clock in session.clocks)]))


def entries(top: Worktop, order: asked.Order) -> Iterator[tuple[int, Clip | None]]:
    rows = {item.row.number: item.row for item in edits.all_standing(top.store.db)}
    after = None
    while found := top.index.find(asked.RowsQuery(order=order, after=after)).entries:
        for entry in found:
            if entry.number is not None and rows[entry.number].place.role != "searched and absent":
                yield entry.number, clip_place(rows[entry.number])
        after = found[-1].key


def each(way: Sequence[Visit]) -> list[Paid]:
    """Every entry is played and decided by itself."""
    seconds, keys, paid = 0.0, 0, []
    for visit in way:
        seconds += cost_s(visit.clip)
        keys += 1 if visit.mend in ((), ("reject",)) else 3 + KEYS_TYPED
        paid += [(seconds, keys)] if visit.wrong else []
    return paid


def on_page(way: Sequence[Visit], *, together: bool = True, speed: float = 1.0) -> list[Paid]:
    """What was played is not played again; what lies in the sound just played is decided with it."""
    heard: list[Clip] = []
    done: set[int] = set()
    named: set[Mend] = set()
    seconds, keys, paid = 0.0, 0, []
    for visit in way:
        if visit.number in done:
            continue
        if visit.clip and not lies_in(visit.clip, heard):
            left = [item.clip for item in way if item.clip and item.number not in done and not lies_in(item.clip, heard)]
            sound = grown(visit.clip, left) if together else visit.clip
            seconds += (sound[1].duration_s + 2 * PAD_S) / speed + START_S
            heard.append(sound)
        group = [item for item in way if item.number == visit.number or (
            item.number not in done and item.clip and lies_in(item.clip, heard[-1:]))]
        keys += keys_of(group, named)
        done |= {item.number for item in group}
        paid += [(seconds, keys)] * sum(item.wrong for item in group)
    return paid


def grown(clip: Clip, left: Sequence[Clip]) -> Clip:
    """The passage that grows from a clip, by the page's own rule."""
    rows = [_row(clip), *(_row(item) for item in left if item != clip)]
    found = passage(rows[0], rows[1:])
    assert found is not None
    return found.source, found.span


def _row(clip: Clip) -> Row:
    return Row("readouts", {}, (Part("value", "", source=clip[0], span=clip[1]),))


def lies_in(clip: Clip, heard: Sequence[Clip]) -> bool:
    return any(clip[0] == source and span.start <= clip[1].start and clip[1].end <= span.end for source, span in heard)


def cost_s(clip: Clip | None) -> float:
    return clip[1].duration_s + 2 * PAD_S + START_S if clip else 0.0


def keys_of(group: Sequence[Visit], named: set[Mend]) -> int:
    """Of rows decided in one sound. named: names put right so far; a row that one of them mended already is right when it is come to."""
    keys = 0
    for item in group:
        if item.mend[:1] == ("name",):
            keys += 2 + KEYS_TYPED + 2 if item.mend not in named else 0
            named.add(item.mend)
        elif item.wrong:
            keys += 1 + {"reject": 1, "other reading": 2}.get(item.mend[0], 2 + KEYS_TYPED)
    return keys + any(not item.wrong or item.mend in named for item in group)


def ways_of(run: Path, mends_of: Callable[[Sequence[Row], Session], Mapping[int, Mend]]) -> dict[str, list[Paid]]:
    top = Worktop(run)
    try:
        mends = mends_of([item.row for item in edits.all_standing(top.store.db)], top.session)
        by: dict[str, list[Visit]] = {order: [Visit(number, clip, mends.get(number, ())) for number, clip in entries(top, order)]
                                      for order in ("time", "listening")}
    finally:
        top.close()
    told = [visit.mend[0] for visit in by["time"] if visit.wrong]
    print(f"{run.name}: {len(by['time'])} rows with sound, {len(told)} of them wrong: "
          + ", ".join(f"{told.count(mend)} {mend}" for mend in dict.fromkeys(told)))
    listed = by["listening"]
    return {"time, each": each(by["time"]), "time, page": on_page(by["time"]), "list, page": on_page(listed), "list, quicker": on_page(listed, speed=QUICKER),
            "list, alone": on_page(listed, together=False), "known": on_page([visit for visit in by["time"] if visit.wrong])}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("run", type=Path)
    parser.add_argument("--expected", type=Path, default=Path(__file__).resolve().parents[2] / "demo_audio")
    parser.add_argument("--sets", type=Path)
    parser.add_argument("--scorer", type=Path)
    given = parser.parse_args()
    ways = ways_of(given.run, (lambda rows, session: mends_by_labels(given.run, rows, session, (given.sets, given.scorer))) if given.sets
                   else lambda *_: mends_of_demo(given.run, given.expected))
    for share in SHARES:
        at = math.ceil(share * len(ways["known"])) - 1
        base_s, base_keys = ways["time, each"][at]
        print(f"{share:.0%} of the wrong rows: " + "; ".join(f"{name} {way[at][0]:.0f} s ({way[at][0] / base_s:.2f}), {way[at][1]} keys "
                                                             f"({way[at][1] / base_keys:.2f})" for name, way in ways.items()))


if __name__ == "__main__":
    main()

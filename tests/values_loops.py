"""Invented loops full of values (golden/values): how many readouts are found, named, classed, and how many that say they are sure are wrong.

Files and labels as in sure_rows, readouts only; a label without a unit leaves the unit open (nobody could know it). Labels were written with the
talk, before anything was run on them. A file that begins with '# as heard' is written as a recogniser writes it, and read without speakers; the
others are read as typed, and as 'recognised' writes them. A loop without a session file is read without one.
"""
from collections import Counter
from decimal import Decimal
from pathlib import Path

import other_trades
import sure_rows
from sure_rows import AGAIN_LINES, Label, Loop, line_of

from debrief.records.rows import Row
from debrief.units import canonical

FOLDER = Path(__file__).parent / "golden" / "values"
NAMES = tuple(sorted(path.stem for path in FOLDER.glob("*.talk")))
STYLES = ("typed", "recognised")


def read_loop(name: str, folder: Path = FOLDER) -> Loop:
    return sure_rows.read_loop(folder / f"{name}.talk")


def count(loop: Loop, rows: tuple[Row, ...], told: list[str] | None = None) -> Counter[str]:
    """found, missed, false; of those found: named, classed. unit: right in value with another unit than the label's (counts as missed and false).

    told: takes a line for each fault, for people to read.
    """
    left = [(row, line) for row in rows if row.kind == "readouts" and (line := line_of(loop, row)) is not None and isinstance(row.get("value"), Decimal)]
    told = [] if told is None else told
    tally: Counter[str] = Counter()
    for label in loop.labels:
        here = [(row, line) for row, line in left if line == label.line and label.value in (row.get("value"), row.get("value_high"))]
        here.sort(key=lambda item: not _named(item[0], label))
        fits = next((item for item in here if label.fair or _unit_fits(item[0], label)), None)
        if fits is not None:
            left.remove(fits)
        if label.fair:
            continue
        said = f"{loop.name}:{label.line} {label.names[0]} {label.value} {label.unit} {label.sort}"
        tally["found" if fits else "missed"] += 1
        if fits is None:
            tally["unit"] += bool(here)
            told.append(f"missed {said} {[item[0].get('unit') for item in here]} <- {loop.lines[label.line][1]}")
            continue
        tally["named"] += _named(fits[0], label)
        tally["classed"] += (fits[0].get("class") or "measured") == label.sort
        if not _named(fits[0], label):
            told.append(f"named {fits[0].get('parameter')!r} {said} {fits[0].certainty} <- {loop.lines[label.line][1]}")
        if (fits[0].get("class") or "measured") != label.sort:
            told.append(f"classed {fits[0].get('class')} {said} {fits[0].certainty} <- {loop.lines[label.line][1]}")
    for row, line in left:
        if not _said_again(loop, row, line):
            tally["false"] += 1
            told.append(f"false {loop.name}:{line} {row.get('parameter')!r} {row.get('value')} {row.get('unit')} {row.get('class')} {row.certainty} "
                        f"<- {loop.lines[line][1]}")
    return tally


def _unit_fits(row: Row, label: Label) -> bool:
    unit = str(row.get("unit") or "")
    return not unit or not label.unit or canonical(unit) == canonical(label.unit)


def _named(row: Row, label: Label) -> bool:
    given = str(row.get("parameter") or "")
    return any(other_trades._named(text, name) for name in label.names for text in (given, f"{row.get('subject') or ''} {given}"))


def _said_again(loop: Loop, row: Row, line: int) -> bool:
    """A labelled value told again within a few lines: neither right nor wrong."""
    return any(line - AGAIN_LINES <= label.line <= line and row.get("value") == label.value for label in loop.labels)


def f1(tally: Counter[str]) -> float:
    return 2 * tally["found"] / max(1, 2 * tally["found"] + tally["missed"] + tally["false"])


def told_of(names: tuple[str, ...], style: str, folder: Path) -> tuple[Counter[str], sure_rows.Tally, list[str]]:
    """Counts, sure rows and faults over several loops."""
    tally, sure, faults = Counter[str](), sure_rows.Tally(), list[str]()
    for name in names:
        loop = read_loop(name)
        if style not in loop.styles:
            continue
        rows = sure_rows.rows_of(loop, style, folder)
        tally += count(loop, rows, faults)
        sure += sure_rows.count(loop, rows)
    return tally, sure, faults

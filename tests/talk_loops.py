"""Loops of talk (golden/talk): polls, ratings, read-backs, steps, clock calls, open items, anomalies and what the plan asked for and nobody said.

Files as in other_trades, with these labels more: c clock; offset N, remaining N (seconds) or mark; a words (something amiss); o words (left
open); x (no row may come from this line); b -n either (may be told or not: a rating said again); v card; item; what; subject (planned and never
said, on any line); k thing; words (a state told in words; only in some loops, the others judge none). An answer `none` lies on the call or a
few lines behind it. a words; n: put right n lines later, counted apart in the loops that tell states. Readouts carry no label here. The
labels were written with the talk, before anything was run on it; read-backs of ratings were made free afterwards.
`python tests/talk_loops.py [NAME ...]` prints the counts and all that is wrong.
"""
import csv
import io
import re
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import other_trades
from other_trades import Loop, f1, heard, read_loop, typed

from debrief.checks.registry import judge
from debrief.desk.tables import csv_text
from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.hearing.saved_transcript import read_transcript
from debrief.records.rows import Row
from debrief.records.sound import Source
from debrief.session import load_session
from debrief.wording.correction import read_all

FOLDER = Path(__file__).parent / "golden" / "talk"
NAMES = tuple(sorted(path.stem for path in FOLDER.glob("*.talk")))
KINDS = ("polls", "ratings", "readbacks", "steps", "clock_calls", "open_items", "anomalies", "coverage")
STATES = "qualitative"
_LETTERS = {"c": "clock_calls", "a": "anomalies", "o": "open_items", "v": "coverage", "x": "nothing", "k": STATES}
_SPOKEN_ROWS = ("readouts", "polls", "ratings", "readbacks", "steps", "clock_calls", "open_items", "anomalies", "qualitative")
NEAR_LINES = 1
"""An open item may stand one line before or after its label."""
SILENCE_LINES = 12
"""So many lines behind the call a silence may be told."""


@dataclass(frozen=True)
class Outcome:
    """tally: found, missed and false rows of a kind; wrong: what was missed or false, as text."""

    tally: Counter[str]
    wrong: tuple[str, ...]


def read(name: str) -> Loop:
    loop = read_loop(name, FOLDER)
    line = -1
    for text in (FOLDER / f"{name}.talk").read_text(encoding="utf-8").splitlines():
        if text.startswith("= ") and text[2] in _LETTERS:
            loop.labels.setdefault(_LETTERS[text[2]], []).append((line, tuple(part.strip() for part in text[3:].split(";"))))
        elif "|" in text and not text.startswith("="):
            line += 1
    loop.labels["either"] = [label for label in loop.labels["readbacks"] if label[1][1] == "either"]
    loop.labels["readbacks"] = [label for label in loop.labels["readbacks"] if label[1][1] != "either"]
    return loop


def rows_of(loop: Loop, style: str, folder: Path) -> tuple[Row, ...]:
    """Checked rows of a loop, typed or as a recogniser may write it."""
    path = folder / f"{loop.name}.{style}.jsonl"
    path.write_text("\n".join(typed(loop) if style == "typed" else heard(loop)) + "\n", encoding="utf-8")
    session, _ = load_session(FOLDER / f"{loop.name}.toml")
    segments = list(read_transcript(path, Source("t1", 0)))
    talk = Talk(cut_turns(segments, read_all(segments, session), session), session)
    return tuple(judge(harvest(talk), talk)[0].rows)


def table(rows: Sequence[Row], kind: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(csv_text(rows, kind))))


def line_of(loop: Loop, row: dict[str, str], seconds: str = "start_s") -> int:
    """The line on which a row stands."""
    if row.get("line_index"):
        return int(row["line_index"])
    at = float(row.get(seconds) or row["start_s"])
    return min(range(len(loop.lines)), key=lambda i: max(loop.lines[i].start_s - at, at - loop.lines[i].end_s, 0))


def outcome(loop: Loop, kind: str, rows: Sequence[Row]) -> Outcome:
    """What of a kind was found, missed and wrongly told; decisions and repeated answers of a poll count neither way."""
    given = [row for row in table(rows, kind) if not row.get("decision")]
    left, missed, right = list(given), [], []
    for line, wanted in loop.labels.get(kind, []):
        row = next((row for row in left if _fits(loop, kind, row, line, wanted)), None)
        if row is None:
            missed.append(f"missed {kind} {'; '.join(wanted)} in line {line}: {loop.lines[line].text}")
        else:
            left.remove(row)
            right.append(row)
    false = [row for row in left if not _neutral(loop, kind, row, right)]
    told = [f"false {kind} {_shown(kind, row)} in line {line_of(loop, row, 'readback_s')}: {loop.lines[line_of(loop, row, 'readback_s')].text}" for row in false]
    return Outcome(Counter(found=len(right), missed=len(missed), false=len(false)), (*missed, *told))


def resolutions(loop: Loop, rows: Sequence[Row]) -> Counter[str]:
    """Of the labelled anomalies that are told: put right on the labelled line, give or take one, or rightly left open."""
    tally: Counter[str] = Counter()
    given = table(rows, "anomalies")
    for line, wanted in loop.labels.get("anomalies", []):
        row = next((row for row in given if other_trades._at(loop, row, line, "anomalies")), None)
        if row is not None:
            at = line_of(loop, {"line_index": row["resolved_line"], "start_s": row["resolved_s"]}) if row["resolved_line"] or row["resolved_s"] else None
            same = at is None if len(wanted) < 2 else at is not None and abs(at - line - int(wanted[1])) <= 1
            tally["right" if same else "wrong"] += 1
    return tally


def from_commentary(loop: Loop, rows: Sequence[Row]) -> int:
    """Rows told of lines from which none may come."""
    lines = {line for line, _ in loop.labels.get("nothing", [])}
    return sum(line_of(loop, row) in lines for kind in _SPOKEN_ROWS for row in table(rows, kind))


def _fits(loop: Loop, kind: str, row: dict[str, str], line: int, wanted: tuple[str, ...]) -> bool:
    if kind == "coverage":
        return _planned(row, wanted)
    silent = kind == "polls" and wanted[1] == "none"
    before = NEAR_LINES if kind == "open_items" or silent else 0
    behind = SILENCE_LINES if silent else before
    if not any(other_trades._at(loop, row, line + off, kind) for off in range(-before, behind + 1) if 0 <= line + off < len(loop.lines)):
        return False
    if kind == STATES:
        return _half_shared(f"{row['parameter']} {row['state']}", " ".join(wanted))
    if kind == "clock_calls":
        what, _, seconds = wanted[1].partition(" ")
        return row["mark"].lower() == "true" if what == "mark" else bool(row[f"{what}_s"]) and abs(float(row[f"{what}_s"]) - float(seconds)) <= 0.5
    return kind in ("open_items", "anomalies") or other_trades._MATCHES[kind](loop, row, wanted)


def _half_shared(one: str, other: str) -> bool:
    """Half of the shorter word list is shared."""
    words, wanted = (re.findall(r"[a-z0-9]+", text.lower()) for text in (one, other))
    return bool(words) and 2 * sum((Counter(words) & Counter(wanted)).values()) >= min(len(words), len(wanted))


def _planned(row: dict[str, str], wanted: tuple[str, ...]) -> bool:
    card, item, what, subject = (*wanted, "")[:4]
    open_ = row["state"] in ("", "not asked", "asked, no answer")
    same = row["step"] == what if item == "step" else other_trades._named(row["what"], what)
    return open_ and row["card"] == card and row["item"] == item and same and subject in ("", row["subject"])


def _neutral(loop: Loop, kind: str, row: dict[str, str], right: Sequence[dict[str, str]]) -> bool:
    """An answer given twice, a rating told again within a few lines, something amiss that is told again, what is planned and no longer open."""
    if kind == "coverage":
        return row["state"] not in ("", "not asked", "asked, no answer")
    if kind == "readbacks":
        return any(line_of(loop, row, "readback_s") == line for line, _ in loop.labels["either"])
    keys = {"polls": ("station", "answer"), "ratings": ("axis", "value")}.get(kind)
    at = line_of(loop, row)
    return keys is not None and any(all(row[key] == other[key] for key in keys) and 0 <= at - line_of(loop, other) <= 6 for other in right)


def _shown(kind: str, row: dict[str, str]) -> str:
    keys = {"polls": ("station", "answer"), "ratings": ("axis", "value", "station"), "readbacks": ("said_line", "said_s", "match"),
            "steps": ("step", "event"), "clock_calls": ("clock", "offset_s", "remaining_s", "mark"), "coverage": ("card", "item", "what", "step", "subject"),
            STATES: ("parameter", "state")}
    return " ".join(row.get(key) or "-" for key in keys.get(kind, ("what",))) + (" (doubtful)" if row.get("certainty") == "doubtful" else "")


def main() -> None:
    total: dict[tuple[str, str], Counter[str]] = {}
    with TemporaryDirectory() as folder:
        for name in sys.argv[1:] or NAMES:
            loop = read(name)
            for style in ("heard",) if loop.as_heard else ("typed", "heard"):
                rows = rows_of(loop, style, Path(folder))
                print(f"=== {name} {style}; rows from commentary: {from_commentary(loop, rows)}")
                if loop.labels.get(STATES):
                    total.setdefault((style, "put right"), Counter()).update(resolutions(loop, rows))
                for kind in (*KINDS, STATES) if loop.labels.get(STATES) else KINDS:
                    found = outcome(loop, kind, rows)
                    total.setdefault((style, kind), Counter()).update(found.tally)
                    print(f"{kind:12} {f1(found.tally):.3f} {dict(found.tally)}", *found.wrong, sep="\n    ")
    for (style, kind), tally in sorted(total.items()):
        print(f"{style:6} {kind:12} {f1(tally):.3f} {dict(tally)}")


if __name__ == "__main__":
    main()

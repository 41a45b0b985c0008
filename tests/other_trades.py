"""Invented loops of many trades (golden/trades): talk with its labels beside each line, and a plain count of what is found.

A talk file holds 'CODE | text' lines; a line that begins with '=' labels the line before it: r parameter; value; unit; class (readout),
p station; answer (poll), q axis; value; rater (rating), b -n right|wrong (says line -n again), s step event, a anomaly, o open item.
The labels were written with the talk, before anything was run on them; six that had been overlooked were added later (three steps, a read-back,
a rating, a clearance). Decisions at the end of a poll carry no label and count neither way. A file that begins with '# as heard' is written as a
recogniser writes: it is read as it stands, without speakers, and has no typed form.
"""
import json
import random
import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

from debrief.units import canonical

FOLDER = Path(__file__).parent / "golden" / "trades"
NAMES = tuple(sorted(path.stem for path in FOLDER.glob("*.talk")))
KINDS = {"r": "readouts", "p": "polls", "q": "ratings", "b": "readbacks", "s": "steps"}
WORD_S, PAUSE_S, SLACK_S = 0.36, 1.1, 5.0
AGAIN_LINES = 6
_MISHEARD = {"two": "to", "four": "for", "eight": "ate", "one": "won", "go": "goal", "roger": "Rodger", "tonnes": "tons", "gauge": "gage"}
_FIGURES = {word: str(n) for n, word in enumerate("zero one two three four five six seven eight nine".split())}


@dataclass(frozen=True)
class Line:
    speaker: str
    text: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Loop:
    """lines: the talk; labels: kind of row -> (line, what must be found there); as_heard: written as a recogniser writes."""

    name: str
    lines: tuple[Line, ...]
    labels: dict[str, list[tuple[int, tuple[str, ...]]]]
    as_heard: bool = False

    @property
    def session(self) -> Path:
        return FOLDER / f"{self.name}.toml"


def read_loop(name: str, folder: Path = FOLDER) -> Loop:
    lines: list[Line] = []
    labels: dict[str, list[tuple[int, tuple[str, ...]]]] = {kind: [] for kind in KINDS.values()}
    at = 1.0
    written = (folder / f"{name}.talk").read_text(encoding="utf-8").splitlines()
    for text in written:
        if text.startswith("= "):
            letter, _, rest = text[2:].partition(" ")
            if letter in KINDS:
                labels[KINDS[letter]].append((len(lines) - 1, _wanted(letter, rest, len(lines) - 1)))
        elif "|" in text:
            speaker, _, said = (part.strip() for part in text.partition("|"))
            end = at + WORD_S * len(said.split())
            lines.append(Line(speaker, said, round(at, 2), round(end, 2)))
            at = end + PAUSE_S
    return Loop(name, tuple(lines), labels, written[0] == "# as heard")


def _wanted(letter: str, rest: str, line: int) -> tuple[str, ...]:
    parts = [part.strip() for part in (rest.split() if letter in "bs" else rest.split(";"))]
    if letter == "b":
        return str(line + int(parts[0])), parts[1] if parts[1] == "either" else str(parts[1] == "right")
    if letter == "s":
        return parts[0], parts[1]
    return tuple(parts)


def typed(loop: Loop) -> Iterator[str]:
    """The talk as a transcript with speakers."""
    for line in loop.lines:
        yield json.dumps({"t": line.start_s, "end_s": line.end_s, "speaker": line.speaker, "text": line.text})


def heard(loop: Loop, seed: int = 1) -> Iterator[str]:
    """The talk as a recogniser may write it: no speakers, words with times, some of them for words that sound alike, figures in pieces."""
    dice = random.Random(seed)
    for line in loop.lines:
        said = line.text.split()
        words = said if loop.as_heard else [_as_heard(word, before, dice) for before, word in pairwise(["", *said])]
        yield json.dumps({"start_s": line.start_s, "end_s": line.end_s, "text": " ".join(words), "words": [
            {"word": word, "start_s": round(line.start_s + i * WORD_S, 2), "end_s": round(line.start_s + (i + 1) * WORD_S, 2),
             "probability": 0.7} for i, word in enumerate(words)]})


def _as_heard(word: str, before: str, dice: random.Random) -> str:
    plain = word.strip(".,?").lower()
    tail = word[len(word.rstrip(".,?")):]
    alone = not before.lower().endswith(("ty", "hundred", "point", "and"))
    if plain in _FIGURES and alone and dice.random() < 0.5:
        return _FIGURES[plain] + (tail or "")
    if plain in _MISHEARD and dice.random() < 0.06:
        return _MISHEARD[plain] + tail
    if len(plain) > 5 and dice.random() < 0.05:
        return plain[:-1] + tail
    return word


def count(loop: Loop, kind: str, rows: Sequence[dict[str, str]]) -> Counter[str]:
    """found, missed and false rows of a kind; rows: the table as text."""
    left = [row for row in rows if not row.get("decision")]
    tally: Counter[str] = Counter()
    for line, wanted in loop.labels[kind]:
        row = next((row for row in left if _at(loop, row, line, kind) and _MATCHES[kind](loop, row, wanted)), None)
        tally["found" if row else "missed"] += 1
        if row:
            left.remove(row)
            if kind == "readouts":
                tally["named"] += _named(row.get("parameter", ""), wanted[0])
    tally["false"] = sum(not (kind == "readouts" and _said_again(loop, row)) for row in left)
    return tally


def _said_again(loop: Loop, row: dict[str, str]) -> bool:
    """A labelled value told again within a few lines ('negative, zero eight five'): neither right nor wrong."""
    return any(_at(loop, row, line + back, "readouts") and _readout(loop, row, wanted) for line, wanted in loop.labels["readouts"]
               for back in range(AGAIN_LINES + 1) if line + back < len(loop.lines))


def f1(tally: Counter[str]) -> float:
    return 2 * tally["found"] / max(1, 2 * tally["found"] + tally["missed"] + tally["false"])


def _at(loop: Loop, row: dict[str, str], line: int, kind: str) -> bool:
    if row.get("line_index"):
        return int(row["line_index"]) == line
    start = float(row.get("readback_s") or row["start_s"]) if kind == "readbacks" else float(row["start_s"])
    return loop.lines[line].start_s - SLACK_S <= start <= loop.lines[line].end_s + SLACK_S


def _readout(_: Loop, row: dict[str, str], wanted: tuple[str, ...]) -> bool:
    return bool(row["value"]) and Decimal(row["value"]) == Decimal(wanted[1]) and row["unit"] in ("", wanted[2], canonical(wanted[2]))


def _named(given: str, wanted: str) -> bool:
    one, other = (set(re.findall(r"[a-z0-9]+", text.lower())) for text in (given, wanted))
    return bool(one) and 2 * len(one & other) / (len(one) + len(other)) >= 0.5


def _poll(_: Loop, row: dict[str, str], wanted: tuple[str, ...]) -> bool:
    return (row["station"], row["answer"]) == wanted


def _rating(_: Loop, row: dict[str, str], wanted: tuple[str, ...]) -> bool:
    return row["axis"] == wanted[0] and bool(row["value"]) and Decimal(row["value"]) == Decimal(wanted[1])


def _readback(loop: Loop, row: dict[str, str], wanted: tuple[str, ...]) -> bool:
    said = int(wanted[0])
    near = int(row["said_line"]) == said if row.get("said_line") else (
        loop.lines[said].start_s - SLACK_S <= float(row["said_s"]) <= loop.lines[said].end_s + SLACK_S)
    return near and row["match"].lower() == wanted[1].lower()


def _step(_: Loop, row: dict[str, str], wanted: tuple[str, ...]) -> bool:
    return (row["step"], row["event"]) == wanted


_MATCHES: dict[str, Callable[[Loop, dict[str, str], tuple[str, ...]], bool]] = {
    "readouts": _readout, "polls": _poll, "ratings": _rating, "readbacks": _readback, "steps": _step}

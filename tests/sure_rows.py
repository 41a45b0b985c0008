"""How often rows that say they are sure are wrong, and how many labels a sure row finds: both figures, over loops of talk with labels.

Talk files as in other_trades, with two labels more: 'r parameter; value; unit; class; subject' may name its subject, and 'e value' marks a
number that may be taken or left (a count, something quoted). Names parted by '|' are all fair. Wrong is a sure row that fits no label of its
line, or fits one in value and not in unit, class, parameter, subject or axis. Told again within a few lines, right in all of these, counts
neither way. A loop without a session file is read without one. A file that begins with '# as heard' is written as a recogniser writes: it is
read as it stands, without speakers, and has no typed form.
"""
import json
import random
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from pathlib import Path

from debrief.checks.registry import judge
from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.hearing.saved_transcript import read_transcript
from debrief.records.rows import Row
from debrief.records.sound import Source
from debrief.session import Session, load_session
from debrief.units import canonical
from debrief.wording.correction import read_all
from debrief.wording.spoken_numbers import read_numbers

AGAIN_LINES = 6
WORD_S, PAUSE_S = 0.36, 1.1
_BY_ONE_WORD = ({"lb", "lbf"}, {"t", "ton"})
SURE_KINDS = ("readouts", "ratings", "clock_calls")


@dataclass(frozen=True)
class Label:
    """What must be found on a line. names: fair names of parameter, axis or clock; fair: may be taken or left."""

    line: int
    kind: str
    names: tuple[str, ...]
    value: Decimal
    unit: str = ""
    sort: str = "measured"
    subject: str = ""
    fair: bool = False


@dataclass
class Loop:
    name: str
    lines: list[tuple[str, str]] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    session: Session = field(default_factory=Session)
    as_heard: bool = False

    @property
    def styles(self) -> tuple[str, ...]:
        return ("recognised",) if self.as_heard else ("typed", "recognised")


@dataclass
class Tally:
    """wrong and held: what to look at; the rest are counts."""

    sure: int = 0
    labels: int = 0
    right: int = 0
    doubtful: int = 0
    wrong: list[str] = field(default_factory=list)
    held: list[str] = field(default_factory=list)

    def __add__(self, other: "Tally") -> "Tally":
        return Tally(self.sure + other.sure, self.labels + other.labels, self.right + other.right, self.doubtful + other.doubtful,
                     self.wrong + other.wrong, self.held + other.held)


def read_loop(path: Path) -> Loop:
    """The talk and labels of a file, and the session file beside it where there is one."""
    lines = path.read_text(encoding="utf-8").splitlines()
    loop = Loop(path.stem, as_heard=lines[0] == "# as heard")
    for written in lines:
        if written.startswith("= "):
            letter, _, rest = written[2:].partition(" ")
            label = _label(len(loop.lines) - 1, letter, [part.strip() for part in rest.split(";")])
            if label is not None:
                loop.labels.append(label)
        elif "|" in written:
            speaker, _, said = (part.strip() for part in written.partition("|"))
            loop.lines.append((speaker, said))
    if path.with_suffix(".toml").exists():
        loop.session, _ = load_session(path.with_suffix(".toml"))
    return loop


def _label(line: int, letter: str, parts: Sequence[str]) -> Label | None:
    def at(place: int) -> str:
        return parts[place] if place < len(parts) else ""
    if letter == "e":
        return Label(line, "", (), Decimal(at(0)), fair=True)
    if letter == "r":
        return Label(line, "readouts", _names(at(0)), Decimal(at(1)), at(2), at(3) or "measured", at(4))
    if letter == "q":
        return Label(line, "ratings", _names(at(0)), Decimal(at(1)), subject=at(2))
    return Label(line, "clock_calls", _names(at(0)), Decimal(at(1))) if letter == "c" else None


def _names(text: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in text.split("|"))


# the two ways a loop is written


def typed(loop: Loop) -> Iterator[str]:
    at = 1.0
    for speaker, text in loop.lines:
        end = at + WORD_S * len(text.split())
        yield json.dumps({"t": round(at, 2), "end_s": round(end, 2), "speaker": speaker, "text": text})
        at = end + PAUSE_S


def recognised(loop: Loop, seed: int = 1) -> Iterator[str]:
    """As a small recogniser writes: no speakers, numbers in figures cut where it likes, commas lost, now and then a word that sounds alike."""
    dice = random.Random(f"{loop.name} {seed}")
    at = 1.0
    for _, text in loop.lines:
        end = at + WORD_S * len(text.split())
        yield json.dumps({"start_s": round(at, 2), "end_s": round(end, 2), "text": text if loop.as_heard else " ".join(_as_recognised(text.split(), dice))})
        at = end + PAUSE_S


_ALIKE = {"roger": "Rodger", "two": "to", "four": "for", "copy": "coffee", "gauge": "gage", "tons": "tonnes"}


def _as_recognised(said: Sequence[str], dice: random.Random) -> list[str]:
    plain = [word.strip(".,?!;:").lower() for word in said]
    numbers = {number.start: number for number in read_numbers(plain)}
    found, index = [], 0
    while index < len(said):
        number = numbers.get(index)
        inner = said[index:number.end - 1] if number is not None else ()
        if number is not None and number.end > number.start and not any(word[-1] in ".,?!;:" for word in inner) and dice.random() < 0.8 \
                and number.value_high is None:  # 'one to five' stays two numbers
            sign = "-" if number.value < 0 and not number.text.startswith("-") else ""
            found.append(_in_figures(plain[index:number.end], sign + number.text, dice) + _tail(said[number.end - 1]))
            index = number.end
            continue
        word = said[index]
        if plain[index] in _ALIKE and dice.random() < 0.04:
            word = _ALIKE[plain[index]] + _tail(word)
        elif word.endswith(",") and dice.random() < 0.3:
            word = word[:-1]
        found.append(word)
        index += 1
    return found


def _tail(word: str) -> str:
    return word[len(word.rstrip(".,?!;:")):]


def _in_figures(words: Sequence[str], text: str, dice: random.Random) -> str:
    if len(words) == 1 and len(text) == 1 and dice.random() < 0.5:
        return words[0]
    try:
        number = Decimal(text)
    except InvalidOperation:
        return " ".join(words)  # '7/8' is written as it is said
    if number == number.to_integral_value() and number >= 1000 and "." not in text and dice.random() < 0.7 and not text.startswith("0"):
        return f"{int(number):,}"
    if len(words) > 1 and all(len(read_numbers([word])[0].text) == 1 for word in words if read_numbers([word])) and "." not in text and dice.random() < 0.3:
        return "-".join(text)
    return text


# what is found, and what it is worth


def talk_of(loop: Loop, style: str, folder: Path) -> Talk:
    """The turns of a loop in one of the ways it is written; the transcript is left in folder."""
    path = folder / f"{loop.name}.{style}.jsonl"
    path.write_text("\n".join(typed(loop) if style == "typed" else recognised(loop)) + "\n", encoding="utf-8")
    segments = list(read_transcript(path, Source("t1", 0)))
    return Talk(cut_turns(segments, read_all(segments, loop.session), loop.session), loop.session)


def rows_of(loop: Loop, style: str, folder: Path) -> tuple[Row, ...]:
    """The rows of a loop after all checks, as 'debrief harvest' writes them."""
    talk = talk_of(loop, style, folder)
    review, _ = judge(harvest(talk), talk, sound=False)
    return tuple(review.rows)


def count(loop: Loop, rows: Sequence[Row]) -> Tally:
    tally = Tally(labels=sum(not label.fair for label in loop.labels))
    sure_right, doubtful_right = set(), {}
    for row in rows:
        line = line_of(loop, row)
        if row.kind not in SURE_KINDS or line is None or number_of(row) is None:
            continue
        sure = row.certainty != "doubtful"
        here = [i for i, label in enumerate(loop.labels) if label.line == line and value_fits(label, row)]
        fits = [i for i in here if not faults(loop, loop.labels[i], row)]
        if fits:
            (sure_right.update if sure else lambda found, why=row: doubtful_right.update(dict.fromkeys(found, why)))(
                i for i in fits if not loop.labels[i].fair)
            tally.sure += sure and not all(loop.labels[i].fair for i in fits)
            tally.doubtful += not sure
        elif not told_again(loop, row, line):
            tally.sure += sure
            tally.doubtful += not sure
            if sure:
                why = sorted({fault for i in here for fault in faults(loop, loop.labels[i], row)}) or ["no label"]
                tally.wrong.append(f"{loop.name}:{line} [{', '.join(why)}] {told(row)} <- {loop.lines[line][1]}")
    tally.right = len(sure_right)
    for i, row in doubtful_right.items():
        if i not in sure_right:
            tally.held.append(f"{loop.name}:{loop.labels[i].line} {told(row)} <- {loop.lines[loop.labels[i].line][1]}\n      {grounds_of(row)}")
    return tally


def line_of(loop: Loop, row: Row) -> int | None:
    """The line on which a row lies."""
    if row.place.line_index is not None:
        return row.place.line_index
    at, start = 1.0, row.place.start_s
    for index, (_, text) in enumerate(loop.lines):
        at += WORD_S * len(text.split()) + PAUSE_S
        if start is not None and start < at - 0.5:
            return index
    return None


def number_of(row: Row) -> Decimal | None:
    value = next((row.get(name) for name in ("value", "offset_s", "remaining_s") if row.get(name) is not None), None)
    return value if isinstance(value, Decimal) else None


def value_fits(label: Label, row: Row) -> bool:
    values = [number_of(row), row.get("value_high"), row.get("value_alt")]
    return (label.fair or label.kind == row.kind) and label.value in values


def faults(loop: Loop, label: Label, row: Row) -> list[str]:
    """What of a row that has the value of a label does not fit it."""
    if label.fair:
        return []
    found = []
    unit, sort, subject = str(row.get("unit") or ""), str(row.get("class") or "measured"), str(row.get("subject") or "")
    if row.kind == "readouts" and label.unit and unit and not _one_unit(canonical(unit), canonical(label.unit)):
        found.append("unit")
    if row.kind == "readouts" and sort != label.sort:
        found.append("class")
    if subject and label.subject and not _alike(subject, (label.subject,)):
        found.append("subject")
    name = str(row.get("parameter") or row.get("axis") or row.get("clock") or "")
    if name and not _alike(name, (*label.names, label.subject, label.unit)) and (row.kind != "readouts" or _could_be_known(loop, label)):
        found.append("parameter")
    return found


def _one_unit(given: str, wanted: str) -> bool:
    """Pounds are a mass or a force, and tons are long, short or metric, by one word: which was meant is not said."""
    return given == wanted or any({given, wanted} <= alike for alike in _BY_ONE_WORD)


def _could_be_known(loop: Loop, label: Label) -> bool:
    near = " ".join(text for _, text in loop.lines[max(0, label.line - 1):label.line + 1])
    planned = [item.what for card in loop.session.cards for item in card.readouts] + [item.what for item in loop.session.limits]
    planned += [item.what for item in loop.session.parameters]
    return _alike(" ".join((near, *planned)), label.names)


def _alike(given: str, names: Sequence[str]) -> bool:
    one, other = (set(re.findall(r"[a-z0-9]+", text.lower())) for text in (given, " ".join(names)))
    return bool(one & other) or any(a[:4] == b[:4] for a in one for b in other if len(a) > 3 and len(b) > 3)


def told_again(loop: Loop, row: Row, line: int) -> bool:
    return any(line - AGAIN_LINES <= label.line < line and value_fits(label, row) and not faults(loop, label, row) for label in loop.labels)


def told(row: Row) -> str:
    name = row.get("parameter") or row.get("axis") or row.get("clock")
    rest = " ".join(str(row.get(key) or "") for key in ("unit", "class", "subject"))
    return f"{row.kind} {name!r} {number_of(row)} {rest} wrong {row.witnesses.get('chance wrong')}"


def grounds_of(row: Row) -> str:
    whys = [why for item in row.fields.values() if item.certainty == "doubtful" for why in item.why]
    return f"doubt {list(row.doubt)}; {whys}"

"""Rows of labelled sessions with what the labels say of each: right, wrong, or not to be judged.

A folder of SETS holds NAME.jsonl (the talk as typed), sessions/NAME.toml, labels/NAME.json and heard/NAME*.heard.jsonl (what a recogniser
wrote); a run is a folder that `debrief run` left. SCORER is the folder with the labels' own scoring package, which alone judges.
A row is judged as if it were marked sure, whatever its certainty: so the verdicts do not move when the calibration does.
"""
import json
import pickle
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from debrief.checks.registry import CHECKS
from debrief.checks.review import Review, run_checks
from debrief.desk.tables import write_tables
from debrief.harvest.answers import reread, with_witnesses
from debrief.hearing.saved_transcript import read_transcript
from debrief.hearing.voice_network import load_voice_network
from debrief.hearing.voices import with_voices
from debrief.pipeline import lexicon_for, read, transcript_source
from debrief.records.kinds import KINDS
from debrief.records.rows import Row
from debrief.records.sound import Recording, Segment
from debrief.session import Session, load_session
from debrief.store.sessions import SessionStore
from debrief.timebase import RecordingClock
from debrief.wording.correction import corrector_for, read_all, read_with
from debrief.wording.spoken_numbers import read_numbers

VALUE_KINDS = ("readouts", "ratings", "clock_calls")


@dataclass(frozen=True)
class Missed:
    """A label that no right row finds: its line, and its value where it has a number."""

    line: int
    value: Decimal | None


@dataclass(frozen=True)
class Judged:
    """One session under one condition: the review before certainty is settled, and for each row True, False or None (not judged).

    why: for wrong rows the scorer's word; labels: how many value labels there are in all; missed: those no right row finds.
    """

    session: str
    condition: str
    review: Review
    verdicts: Sequence[bool | None]
    why: Mapping[int, str]
    labels: int
    missed: Sequence[Missed] = ()


def typed(sets: Path, scorer: Path) -> Iterator[Judged]:
    """Sessions as typed."""
    for path in sorted(sets.glob("*.jsonl")):
        yield judged(_review([str(path)], _session(sets, path.stem)), sets, (path.stem, f"{sets.name} typed"), scorer)


def heard(sets: Path, condition: str, scorer: Path) -> Iterator[Judged]:
    """What a recogniser wrote; condition: '' for NAME.heard.jsonl, 'clean' for NAME.clean.heard.jsonl. Channels are joined."""
    for plan in sorted((sets / "sessions").glob("*.toml")):
        session, name = _session(sets, plan.stem), plan.stem
        one = sets / "heard" / ".".join(part for part in (name, condition, "heard.jsonl") if part)
        parts = sorted((sets / "heard").glob(f"{name}.[A-Z]*.heard.jsonl")) if not condition else []
        given = [str(one)] if one.exists() else [f"{part}={_channel(part, session)}" for part in parts]
        if given:
            yield judged(_review(given, session), sets, (name, f"heard {condition or '15dB'}"), scorer)


def runs(folder: Path, sets: Path, scorer: Path) -> Iterator[Judged]:
    """What `debrief run` left in NAME.CONDITION below a folder; the harvest is done again from what was heard and weighed."""
    for path in sorted(item for item in folder.iterdir() if list(item.glob("*.sqlite"))):
        name, _, condition = path.name.partition(".")
        yield judged(_review_of_run(path, sets / "audio"), sets, (name, f"run {condition}"), scorer)


def spoken_lines(sets: Path, name: str) -> list[tuple[float, float]]:
    """Start and end of each typed line, seconds of the first recording."""
    rows = [json.loads(line) for line in (sets / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()]
    return [(row["t"], row["end_s"]) for row in rows]


def where_said(sets: Path, name: str, missed: Sequence[Missed]) -> list[tuple[float, float]]:
    """Start and end of the words of each missed value, seconds of the first recording.

    From truth/NAME.truth.jsonl (words of every phrase with their seconds); where the value is not among a line's numbers all of these count,
    and where there is no truth the whole line.
    """
    lines, path = spoken_lines(sets, name), sets / "truth" / f"{name}.truth.jsonl"
    phrases: dict[int, list[Any]] = defaultdict(list)
    for text in path.read_text(encoding="utf-8").splitlines() if path.exists() else ():
        phrase = json.loads(text)
        phrases[phrase["line_index"]].append(phrase["words"])
    found = []
    for item in missed:
        numbers = [(words[number.start][1], words[number.end - 1][2], {number.value, -number.value, number.value_high, *number.others, *number.pieces})
                   for words in phrases[item.line] for number in read_numbers([word for word, *_ in words])]
        meant = [number for number in numbers if item.value in number[2]][:1] or numbers
        found.append((min(number[0] for number in meant), max(number[1] for number in meant)) if meant else lines[item.line])
    return found


def _channel(path: Path, session: Session) -> str:
    """'NAME.A2.heard.jsonl' is the second channel of NAME.A.*; 'NAME.B' the only one of NAME.B.*"""
    letters = path.name.split(".")[1]
    files = {Path(entry.file).name for entry in session.recordings}
    file = next(name for name in files if name.split(".")[1] == letters[0])
    return f"{file}:{int(letters[1:] or 1) - 1}"


def _session(sets: Path, name: str) -> Session:
    path = sets / "sessions" / f"{name}.toml"
    return load_session(path)[0] if path.exists() else Session()


def _review(given: Sequence[str], session: Session) -> Review:
    segments: list[Segment] = []
    clocks: dict[str, RecordingClock] = {}
    for position, text in enumerate(given):
        path, source, clock, loop = transcript_source(text, position, session)
        clocks[source.recording] = clock
        segments += [replace(item, segment=f"{position}.{item.segment}", loop=item.loop or loop) for item in read_transcript(path, source)]
    reading = read(segments, read_all(segments, session, lexicon_for(session)), session, clocks)
    return checked(Review(tuple(reading.rows), reading.talk, clocks=clocks))


def _review_of_run(folder: Path, audio: Path) -> Review:
    with SessionStore.open(folder) as store:
        made = store.passes()[-1]
        session = Session.model_validate_json(made.settings["session"])
        segments, clocks = store.segments(made.number), {item.recording: item.clock for item in store.recordings()}
        questions, answers = store.questions(made.number), store.answers(made.number)
        stretches = store.stretches(made.number)
        segments = _with_voices(folder, segments, store.recordings(), audio)
    tokens = read_with(segments, corrector_for(segments, session, lexicon_for(session)))
    reading = read(segments, reread(tokens, questions, answers), session, clocks)
    rows = with_witnesses(reading.rows, questions, answers)
    return checked(Review(tuple(rows), reading.talk, tuple(stretches), clocks, True))


def _with_voices(folder: Path, segments: Sequence[Segment], recordings: Sequence[Recording], audio: Path) -> Sequence[Segment]:
    """Segments with the voices of the sound, which are not stored; kept beside the run, since they take long. Without the sound, as they are."""
    kept = folder.with_name(f"{folder.name}.voices.pkl")
    if kept.exists():
        return pickle.loads(kept.read_bytes())  # type: ignore[no-any-return]
    here = [item if Path(item.path).exists() else replace(item, path=str(audio / Path(item.path).name)) for item in recordings]
    if all(Path(item.path).exists() for item in here):
        segments = with_voices(segments, here, load_voice_network())
        kept.write_bytes(pickle.dumps(segments))
    return segments


def checked(review: Review) -> Review:
    """The review after all checks that stand before certainty."""
    before = CHECKS[:next(i for i, check in enumerate(CHECKS) if check.name == "certainty")]
    return run_checks(review, before)[0]


def judged(review: Review, sets: Path, where: tuple[str, str], scorer: Path) -> Judged:
    """What the scorer says of each row."""
    if str(scorer) not in sys.path:
        sys.path.insert(0, str(scorer))
    from scoring.excerpt import Excerpt  # type: ignore[import-not-found]
    from scoring.score import KINDS as SCORED  # type: ignore[import-not-found]
    from scoring.tables import read_table  # type: ignore[import-not-found]

    excerpt = Excerpt(sets / "labels" / f"{where[0]}.json")
    rows = [_as_sure(row) for row in review.rows]
    with tempfile.TemporaryDirectory() as folder:
        write_tables(rows, Path(folder))
        tables = {kind: read_table(Path(folder), kind) for kind in KINDS}
    excerpt.set_placing([row for table in tables.values() for row in table])
    verdicts: list[bool | None] = [None] * len(rows)
    why: dict[int, str] = {}
    labels = 0
    missed: list[Missed] = []
    for kind in (kind for kind in SCORED if kind in excerpt.kinds):
        positions = [i for i, row in enumerate(rows) if row.kind == kind]
        told, wanted, left = (_of_values if kind in VALUE_KINDS else _of_others)(excerpt, kind, tables[kind])
        labels += wanted
        missed += left
        for position, item in zip(positions, told, strict=True):
            verdicts[position] = None if item is None else item == ""
            if item:
                why[position] = item
    return Judged(*where, review, verdicts, why, labels, missed)


def _as_sure(row: Row) -> Row:
    return replace(row, doubt=(), fields={name: replace(item, certainty="clear") for name, item in row.fields.items()})


def _of_values(excerpt: Any, kind: str, rows: Sequence[Any]) -> tuple[list[str | None], int, list[Missed]]:
    """'' for a right row, the fault of a wrong one, None for one that is not judged; and how many labels there are."""
    from scoring.faults import FAULT  # type: ignore[import-not-found]
    from scoring.score import label_rows, optional, pair_up
    from scoring.sure import verdict  # type: ignore[import-not-found]

    labels = label_rows(excerpt, kind)
    wanted = [label for label in labels if not optional(excerpt, kind, label)]
    pairs, _ = pair_up(excerpt, kind, wanted, rows, lambda label, row: FAULT[kind](excerpt, label, row) is None)
    right = {j for _, j in pairs}
    found = {i for i, _ in pairs}
    missed = [Missed(label["line_index"], Decimal(str(label["value"])) if isinstance(label.get("value"), int | float) else None)
              for i, label in enumerate(wanted) if i not in found]
    return [("" if j in right else verdict(excerpt, kind, labels, row)) for j, row in enumerate(rows)], len(wanted), missed


def _of_others(excerpt: Any, kind: str, rows: Sequence[Any]) -> tuple[list[str | None], int, list[Missed]]:
    from scoring.score import copied, label_rows, neutral, optional, pair_up

    labels = label_rows(excerpt, kind)
    pairs, fitting = pair_up(excerpt, kind, labels, rows)
    right = {j for i, j in pairs if not optional(excerpt, kind, labels[i])}
    aside = fitting | {j for j, row in enumerate(rows) if neutral(excerpt, kind, row) or copied(excerpt, kind, labels, row)}
    return ["" if j in right else None if j in aside else "false" for j in range(len(rows))], 0, []


def main() -> None:
    """Every judged row, one JSON object a line: for looking at."""
    sets, scorer, condition = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3]
    for item in typed(sets, scorer) if condition == "typed" else heard(sets, condition, scorer):
        for position, row in enumerate(item.review.rows):
            told = {"session": item.session, "kind": row.kind, "verdict": item.verdicts[position], "fault": item.why.get(position),
                    "certainty": row.certainty, "fields": {k: str(v.value) for k, v in row.fields.items() if v.value is not None},
                    "text": row.place.text, "doubt": row.doubt, "witnesses": dict(row.witnesses)}
            print(json.dumps(told, ensure_ascii=False))


if __name__ == "__main__":
    main()

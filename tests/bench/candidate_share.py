"""Share of true values that stand among the candidates of the second pass, session by session.

    python tests/bench/candidate_share.py SETS [NAME ...]

SETS is a folder of labelled sessions: sessions/NAME.toml, heard/NAME.heard.jsonl, labels/NAME.json, NAME.jsonl (t, end_s, text).
'free': the value stands in what free hearing wrote over the line; 'asked': there, or in a candidate of a question over the line.
"""
import json
import sys
import time
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

from debrief.harvest.conversation import cut_turns
from debrief.harvest.questions import ask, value_of
from debrief.harvest.talk import Talk
from debrief.hearing.saved_transcript import read_transcript
from debrief.records.sound import Source
from debrief.session import load_session
from debrief.wording.correction import corrector_for, read_as
from debrief.wording.lexicon import load_lexicon

NEAR_S = 0.3


def labelled(labels: dict[str, Any]) -> Iterator[tuple[str, int, str]]:
    """(kind, line, value as value_of would write it) of everything that was truly said."""
    for kind in ("readouts", "ratings"):
        given = [row for row in labels[kind] if row["value"] is not None]
        yield from ((kind, row["line_index"], f"{Decimal(str(row['value'])).normalize():f}") for row in given)
    for poll in labels["polls"]:
        yield from (("polls", item["line_index"], item["answer"].lower().replace("-", " ")) for item in poll["responses"])


def measure(sets: Path, name: str) -> str:
    plain = name.partition(".")[0]
    session, _ = load_session(sets / "sessions" / f"{plain}.toml")
    segments = read_transcript(sets / "heard" / f"{name}.heard.jsonl", Source("r1", 0))
    corrector = corrector_for(segments, session)
    talk = Talk(cut_turns(segments, {item.segment: read_as(item, corrector) for item in segments}, session), session)
    begin = time.process_time()
    questions = ask(talk, load_lexicon(), corrector)
    spent = time.process_time() - begin
    lines = [json.loads(line) for line in (sets / f"{plain}.jsonl").read_text(encoding="utf-8").splitlines()]
    labels = json.loads((sets / "labels" / f"{plain}.json").read_text(encoding="utf-8"))
    count: Counter[str] = Counter()
    for kind, index, value in labelled(labels):
        start, end = lines[index]["t"] - NEAR_S, lines[index]["end_s"] + NEAR_S
        free = any(_holds(value_of(turn.text), value) for turn in talk.turns
                   if turn.start_s is not None and turn.end_s is not None and turn.start_s < end and turn.end_s > start)
        asked = free or any(_holds(stated, value) for question in questions for stated in question.values
                            if question.span.start_s < end and question.span.end_s > start)
        count.update({kind: 1, f"{kind} free": free, f"{kind} asked": asked})
    told = "; ".join(f"{kind}: " + ", ".join(f"{what} {count[f'{kind} {what}'] / count[kind]:.2f}" for what in ("free", "asked"))
                     + f" of {count[kind]}" for kind in ("readouts", "ratings", "polls") if count[kind])
    return f"{name}: {len(questions)} questions, {sum(len(q.candidates) for q in questions)} candidates, {spent:.2f} s. {told}"


def _holds(stated: str, value: str) -> bool:
    return f" {value} " in f" {stated} "


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    for session_name in sys.argv[2:] or sorted(path.name.removesuffix(".heard.jsonl") for path in (folder / "heard").glob("*.heard.jsonl")):
        print(measure(folder, session_name))

"""What speaks for and against rows that are no values: poll answers, read-backs, steps and times, each by what it is.

An answer that nobody was heard to give is as sure as the hearing was; a read-back that holds one of many values may be a remark of its
own. Common practice, no source.
"""
from collections.abc import Iterator

from ..harvest.view import View
from ..records.rows import Row
from ..session import Session

SOON_S = 8.0
_ANSWERS = frozenset("go goes no-go nogo ready affirm affirmative negative standby green red wait".split())


def of_kind(row: Row, view: View | None, session: Session) -> Iterator[tuple[str, float]]:
    """Witnesses of one row. view: the turn it lies in, where it lies in one."""
    if row.kind == "polls":
        yield from _poll(row, view, session)
    elif row.kind == "readbacks":
        said, back = row.get("said_s"), row.get("readback_s")
        yield "read-back: of a part", float(row.get("verdict") == "partial")
        yield "read-back: told wrong", float(row.get("match") is False)
        yield "read-back: of one digit", float(len(str(row.get("readback") or "").strip()) == 1)
        if isinstance(said, int | float) and isinstance(back, int | float):
            yield "read-back: long after", float(back - said > SOON_S)
    elif row.kind == "steps":
        yield f"step: {row.get('event')}", 1.0
    elif row.kind == "times":
        yield f"time: {row.get('kind')}", 1.0


def _poll(row: Row, view: View | None, session: Session) -> Iterator[tuple[str, float]]:
    silent = row.get("answer") == "none"
    yield "answer: none was heard", float(silent)
    yield "answer: late", float(bool(row.get("late")))
    yield "answer: a decision", float(bool(row.get("decision")))
    words = session.poll_words
    known = _ANSWERS | {word.lower() for text in (*words.go, *words.no_go, *words.stand_by) for word in text.split()}
    yield "answer: in words of its own", float(not silent and (view is None or not known & set(view.words)))
    yield "answer: alone", float(view is not None and not silent and len(view.words) <= len(str(row.get("station") or "").split()) + 2)

"""Polls as a whole: each station's history of answers, who was missing, late, conditional or spoken for, and the decision against them.

Common practice, no source: a poll is decided on the last answer of each station that was asked; a decision over a NO-GO, a STAND BY, a
condition that nobody closed, or a silence is told, never judged. "No answer was heard" is said, never "gave none".
"""
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..records.rows import Row
from .review import Findings, Review, Told

NAME = "poll"
LATE_TURNS = 30
_AGAINST = ("NO-GO", "STAND BY", "none")


@dataclass(frozen=True, slots=True)
class Poll:
    """Answers in order of their turns, with their positions in the review; the decision where one was given."""

    question: str
    answers: Sequence[tuple[int, Row]]
    decision: tuple[int, Row] | None

    def last(self) -> dict[str, tuple[int, Row]]:
        """The last answer of each station before the decision."""
        end = self.decision[1].turn if self.decision else None
        found: dict[str, tuple[int, Row]] = {}
        for position, row in self.answers:
            if end is None or row.turn is None or row.turn <= end:
                found[str(row.get("station"))] = (position, row)
        return found


def polls_of(review: Review) -> Iterator[Poll]:
    """The polls of the talk: runs of answers to one question up to a decision, and late answers behind it."""
    answers: list[tuple[int, Row]] = []
    decision: tuple[int, Row] | None = None
    for position, row in review.of("polls"):
        if answers and not _same(answers[-1][1] if decision is None else decision[1], row, bool(decision)):
            yield Poll(str(answers[0][1].get("question") or ""), tuple(answers), decision)
            answers, decision = [], None
        if row.get("decision"):
            decision = (position, row)
        else:
            answers.append((position, row))
    if answers:
        yield Poll(str(answers[0][1].get("question") or ""), tuple(answers), decision)


def _same(last: Row, row: Row, decided: bool) -> bool:
    near = last.turn is not None and row.turn is not None and row.turn - last.turn <= LATE_TURNS
    return near and (last.get("question") or "") == (row.get("question") or "") and (not decided or bool(row.get("late")))


def poll_check(review: Review) -> Findings:
    """What a poll leaves to look at: silence, lateness, conditions, proxies, changes of mind, and a decision over them."""
    told = Told(review, NAME)
    for poll in polls_of(review):
        for position, row in poll.answers:
            for why in _of_answer(row):
                told.row(position, _name_of(poll), why)
        _histories(poll, told)
        _decided_against(poll, told)
    return told.findings()


def _name_of(poll: Poll) -> str:
    return f"poll for {poll.question}" if poll.question else "poll"


def _of_answer(row: Row) -> Iterator[str]:
    station = row.get("station")
    if row.get("answer") == "none":
        yield f"{station} was asked, and no answer was heard"
    if row.get("late"):
        yield f"{station} answered after the decision"
    if row.get("condition"):
        yield f"{station} answered {row.get('answer')} on a condition: {row.get('condition')}"
    if row.get("given_by"):
        yield f"{row.get('given_by')} answered for {station}"


def _histories(poll: Poll, told: Told) -> None:
    """A station that answered differently twice."""
    by_station: dict[str, list[tuple[int, Row]]] = {}
    for position, row in poll.answers:
        if row.get("answer") != "none":
            by_station.setdefault(str(row.get("station")), []).append((position, row))
    for station, rows in by_station.items():
        history = [str(row.get("answer")) for _, row in rows]
        if len(set(history)) > 1:
            told.row(rows[-1][0], _name_of(poll), f"{station} answered {', then '.join(history)}", *(p for p, _ in rows[:-1]))


def _decided_against(poll: Poll, told: Told) -> None:
    if poll.decision is None or poll.decision[1].get("answer") != "GO":
        return
    open_ = {station: (position, row) for station, (position, row) in poll.last().items() if row.get("answer") in _AGAINST}
    if open_:
        names = ", ".join(f"{station} {'not heard' if row.get('answer') == 'none' else row.get('answer')}" for station, (_, row) in open_.items())
        told.row(poll.decision[0], _name_of(poll), f"GO was decided with {names}", *(position for position, _ in open_.values()),
                 serious=True)

"""Read-backs that came back wrong, in part, or not at all where one was due.

A read-back is due, by common practice (no source), after an order or a report with values that the speaker addressed to a station by
name and that was answered with a bare acknowledgement. The pairs themselves and what is wrong in them are worked out with the talk.
"""
from collections.abc import Iterator, Mapping

from ..harvest.meaning import ACKNOWLEDGES
from ..harvest.talk import Talk, part
from ..records.findings import CheckResult
from ..records.rows import Row
from ..records.talk import Turn
from .readback_order import differing, swapped
from .review import Findings, Review, look, noted

NAME = "read-back"
_DUE = frozenset(("readouts", "times", "clock_calls", "identifiers"))
_FILLS = frozenset("that it you got i have you're all we with there is loud clear over".split())


def readback_check(review: Review) -> Findings:
    """Wrong read-backs (put right or not), partial ones, and values that were only acknowledged."""
    changed: dict[int, Row] = {}
    results: list[CheckResult] = []
    told: set[int] = set()
    turns = _by_place(review.talk)
    for position, row in review.of("readbacks"):
        told.add(_said_turn(turns, row))
        verdict, why = str(row.get("verdict") or ""), "; ".join(row.fields["match"].why)
        if row.get("match") is False:
            put_right = bool(row.get("corrected"))
            changed[position] = look(row, f"{verdict}: {why}" if why else verdict)
            results.append(noted(review, position, NAME, f"{verdict}: {why}", serious=not put_right))
        elif verdict == "partial":
            results.append(noted(review, position, NAME, f"only {row.get('readback')} came back of {row.get('said')}"))
    results += _only_acknowledged(review, told)
    for position, why in swapped(review):
        changed[position] = look(changed.get(position, review.rows[position]), why)
        results.append(noted(review, position, NAME, why, serious=True))
    first: dict[int | None, int] = {}
    for position, row in enumerate(review.rows):
        first.setdefault(row.turn, position)
    for turn, why in differing(review, told):
        at = first.get(turn)
        if at is not None:
            changed[at] = look(changed.get(at, review.rows[at]), why)
        results.append(CheckResult(NAME, why, () if at is None else (at,), (part(review.talk.turns[turn], "read back"),), True))
    return Findings(changed, (), tuple(results))


def _by_place(talk: Talk) -> dict[tuple[str | None, int | None, float | None], int]:
    """Indexes of turns by what evidence says of a whole turn: its first segment, line and second."""
    found: dict[tuple[str | None, int | None, float | None], int] = {}
    for turn in talk.turns:
        if turn.tokens:
            found.setdefault((turn.tokens[0].segment, turn.line_index, turn.start_s), turn.index)
    return found


def _said_turn(turns: Mapping[tuple[str | None, int | None, float | None], int], row: Row) -> int:
    """The turn that was read back, by its place; -1 where it is not found."""
    said = next((part for part in row.evidence if part.role == "said"), None)
    return -1 if said is None or not said.segment else turns.get((said.segment, said.line_index, said.start_s), -1)


def _only_acknowledged(review: Review, told: set[int]) -> Iterator[CheckResult]:
    """Values given to a station by name and answered by nothing but 'roger'."""
    values: dict[int, int] = {}
    for position, row in review.of(*_DUE):
        if row.turn is not None:
            values.setdefault(row.turn, position)
    answers = _answers(review.talk)
    for turn, position in sorted(values.items()):
        answer = answers.get(turn)
        if turn not in told and answer is not None and review.talk.turns[turn].addressee == answer.station and _bare(answer):
            yield noted(review, position, NAME, f"acknowledged by {answer.station} without being read back")


def _answers(talk: Talk) -> Mapping[int, Turn]:
    """The first turn that answers each turn."""
    found: dict[int, Turn] = {}
    for turn in talk.operational():
        if turn.answers is not None and turn.station is not None:
            found.setdefault(turn.answers, turn)
    return found


def _bare(turn: Turn) -> bool:
    """Nothing but words of acknowledging, and perhaps a callsign."""
    words = [token.norm for token in turn.tokens]
    acknowledges = [word for word in words if word in ACKNOWLEDGES]
    return bool(acknowledges) and len(words) - len(acknowledges) <= 2 and all(
        word in ACKNOWLEDGES | _FILLS or token.text[:1].isupper() for word, token in zip(words, turn.tokens, strict=True))



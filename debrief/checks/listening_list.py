"""What a person should hear first: rows and stretches of sound, by errors expected to be settled per second of listening.

Conventions: playing a place costs its span, padded by PAD_S on both sides, and START_S to get going. Rows whose padded spans
touch are one item: hearing them once settles all. Expected errors are chances, added up; a row that a person has heard has none.
Greedy order by errors per second is within one item of the best order for any budget, and needs no budget to be known beforehand.
"""
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from ..records.findings import ListeningItem
from ..records.rows import Certainty, Part, Row
from ..records.talk import Turn
from .review import Review

PAD_S = 0.5
START_S = 1.0
CHANCE_WRONG: dict[Certainty, float] = {"heard by a person": 0.0, "repeated": 0.02, "clear": 0.06, "doubtful": 0.45}
LOOK_CHANCE = 0.25      # a row with a reason to look: the reason is often the error
MISSED_PER_SECOND = 0.08  # rows that a second of talk holds, about, in dense talk
UNREAD_CHANCE = 0.3     # a stretch that could not be read and holds something planned
NO_SOUND_S = 4.0        # what a row costs when its span is not known


@dataclass(frozen=True, slots=True)
class _Candidate:
    part: Part
    expected: float
    why: tuple[str, ...]
    row: int | None


def chance_wrong(row: Row) -> float:
    """The chance that something in this row is wrong: the calibrated witness where there is one, else by certainty."""
    if row.certainty == "heard by a person":
        return 0.0
    given = row.witnesses.get("chance wrong")
    chance = float(given) if given is not None else CHANCE_WRONG[row.certainty]
    return max(chance, LOOK_CHANCE) if row.look else chance


def listening_list(review: Review, minutes: float | None = None) -> list[ListeningItem]:
    """Items in the order in which they should be heard; with minutes, as many as fit into that time."""
    items = sorted((_item(group) for group in _touching(_candidates(review))),
                   key=lambda item: (-item.expected_errors / item.seconds, item.part.start_s or 0.0))
    return items if minutes is None else list(fitting(items, minutes * 60))


def fitting(items: Iterable[ListeningItem], seconds: float) -> Iterator[ListeningItem]:
    """Items in their order, as many as fit into the seconds; one that is too long leaves its room to those after it."""
    for item in items:
        if item.seconds <= seconds:
            seconds -= item.seconds
            yield item


def _candidates(review: Review) -> Iterator[_Candidate]:
    covered = set()
    for position, row in enumerate(review.rows):
        chance = chance_wrong(row)
        covered.add(row.turn)
        if chance > 0:
            yield _Candidate(row.place, chance, _reasons(row), position)
    if review.sound:
        yield from (_silence(turn) for turn in review.talk.operational() if turn.index not in covered)
        yield from _unread(review)


def _reasons(row: Row) -> tuple[str, ...]:
    doubts = [why for item in row.fields.values() if item.certainty == "doubtful" for why in item.why]
    return tuple(dict.fromkeys([*row.look, *row.doubt, *doubts])) or (row.certainty,)


def _silence(turn: Turn) -> _Candidate:
    """Talk that gave no row: the worse it was heard, the more it may hide."""
    known = [token.probability for token in turn.tokens if token.probability is not None]
    unsure = 1 - sum(known) / len(known) if known else 0.5
    seconds = turn.span.duration_s if turn.span else NO_SOUND_S
    where = Part("searched and absent", turn.text, source=turn.source, span=turn.span, line_index=turn.line_index,
                 start_s=turn.start_s)
    return _Candidate(where, MISSED_PER_SECOND * seconds * unsure, ("talk that gave no row, poorly heard",), None)


def _unread(review: Review) -> Iterator[_Candidate]:
    for stretch in review.stretches:
        if stretch.held_as == "unreadable":
            clock = review.clocks.get(stretch.source.recording)
            start_s = clock.to_session_s(stretch.span.start_s) if clock else stretch.span.start_s
            where = Part("searched and absent", "", source=stretch.source, span=stretch.span, start_s=start_s)
            yield _Candidate(where, UNREAD_CHANCE, (f"sound that could not be read: {stretch.why}",), None)


def _touching(candidates: Iterable[_Candidate]) -> Iterator[Sequence[_Candidate]]:
    """Groups of candidates that one playing settles."""
    placed = sorted(candidates, key=lambda c: (str(c.part.source), c.part.span.start if c.part.span else -1))
    group: list[_Candidate] = []
    for candidate in placed:
        if group and not _near(group[-1].part, candidate.part):
            yield group
            group = []
        group.append(candidate)
    if group:
        yield group


def _near(one: Part, two: Part) -> bool:
    if one.source != two.source or one.span is None or two.span is None:
        return False
    return two.span.start_s - one.span.end_s <= 2 * PAD_S and two.span.end_s - one.span.start_s <= 30


def _item(group: Sequence[_Candidate]) -> ListeningItem:
    spans = [candidate.part.span for candidate in group if candidate.part.span]
    hull = None
    for span in spans:
        hull = span if hull is None else hull.hull(span)
    seconds = (hull.duration_s + 2 * PAD_S if hull else NO_SOUND_S) + START_S
    worst = max(group, key=lambda candidate: candidate.expected)
    why = tuple(dict.fromkeys(reason for candidate in group for reason in candidate.why))
    first = min((c.part.start_s for c in group if c.part.start_s is not None), default=None)
    return ListeningItem(replace(worst.part, span=hull or worst.part.span, start_s=first), seconds,
                         sum(candidate.expected for candidate in group), why,
                         next((c.row for c in sorted(group, key=lambda c: -c.expected) if c.row is not None), None))

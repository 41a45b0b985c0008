"""What a person should hear first: rows and stretches of sound, by errors expected to be settled per second of listening.

Conventions: playing a place costs its span, padded by PAD_S on both sides, and START_S to get going. Rows and turns whose
padded spans touch are one item where that settles more a second. Expected errors are chances, added up; a row that a person has heard has none.
Greedy order by errors per second is within one item of the best order for any budget, and needs no budget to be known beforehand.
"""
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ..records.findings import ListeningItem
from ..records.rows import Certainty, Part, Row
from ..records.talk import Turn
from ..timebase import Span
from .certainty import VALUE_KINDS, calibration
from .missed import expected_missed
from .review import Review

PAD_S = 0.4
START_S = 1.0
CHANCE_WRONG: dict[Certainty, float] = {"heard by a person": 0.0, "repeated": 0.02, "clear": 0.06, "doubtful": 0.45}
LOOK_CHANCE = 0.25      # a row with a reason to look: the reason is often the error
UNREAD_CHANCE = 0.3     # a stretch that could not be read and holds something planned
NO_SOUND_S = 4.0        # what a row costs when its span is not known
SHORT_S, AROUND_S, APART_S = 2.0, 0.3, 0.7   # of a longer turn only what lies around its numbers is played, apart where more lies between
OTHER_WORTH = 0.5       # an error in a row that holds no value, against one in a value
OWN_STATION = 3.0       # how much likelier a planned thing is in a turn of the station it is asked of
LONGEST_S = 30.0        # nothing longer is played in one piece
REPEATING = frozenset(("events",))
"""Kinds that tell again what rows of other kinds tell."""


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
    missed = expected_missed(review, calibration().missed) if review.sound else {}
    for position, row in enumerate(review.rows):
        chance = chance_wrong(row) * (1.0 if row.kind in VALUE_KINDS else OTHER_WORTH)
        if chance > 0 and row.kind not in REPEATING:
            part = _likeliest(review, row, missed) if row.kind == "coverage" else row.place
            yield _Candidate(part, chance, _reasons(row), position)
    if review.sound:
        heard = {row.turn for row in review.rows if row.certainty == "heard by a person"}
        for index, number in missed.items():
            yield from _missed(review, review.talk.turns[index], number) if index not in heard else ()
        yield from _unread(review)


def _likeliest(review: Review, row: Row, missed: Mapping[int, float]) -> Part:
    """Of the stretch in which something planned was looked for in vain, the turn that most likely holds it; the stretch where no turn does."""
    place, subject = row.place, row.get("subject")
    if place.span is None:
        return place
    inside = [turn for index in missed if (turn := review.talk.turns[index]).source == place.source and turn.span and turn.span.overlap(place.span)]
    if not inside:
        return place
    best = max(inside, key=lambda turn: missed[turn.index] * (OWN_STATION if subject is not None and turn.station == subject else 1.0))
    around = _around_numbers(best, review)
    return _part_of(best, around[0][0].hull(around[-1][0]) if around else best.span, place.text)


def _reasons(row: Row) -> tuple[str, ...]:
    doubts = [why for item in row.fields.values() if item.certainty == "doubtful" for why in item.why]
    return tuple(dict.fromkeys([*row.look, *row.doubt, *doubts])) or (row.certainty,)


def _missed(review: Review, turn: Turn, number: float) -> Iterator[_Candidate]:
    """Talk that may hold values that no row tells: a long turn by the stretches around its numbers, other talk whole."""
    places: Sequence[tuple[Span | None, float]] = _around_numbers(turn, review) or [(turn.span, 1.0)]
    for span, share in places:
        yield _Candidate(_part_of(turn, span, turn.text), number * share, ("talk that may hold more than its rows tell",), None)


def _part_of(turn: Turn, span: Span | None, text: str) -> Part:
    start_s = turn.start_s
    if start_s is not None and span is not None and turn.span is not None:
        start_s += span.start_s - turn.span.start_s
    return Part("searched and absent", text, source=turn.source, span=span, line_index=turn.line_index, start_s=start_s)


def _around_numbers(turn: Turn, review: Review) -> list[tuple[Span, float]]:
    """Stretches of sound around the numbers of a long turn, each with its share of these; numbers with little between them share one."""
    if turn.span is None or turn.span.duration_s <= SHORT_S:
        return []
    numbers = [heard for number in review.talk.numbers[turn.index]
               if (heard := [token.span for token in turn.tokens[number.start:number.end] if token.span])]
    made: list[tuple[Span, int]] = []
    for spans in numbers:
        near = Span.of_seconds(max(turn.span.start_s, spans[0].start_s - AROUND_S), min(turn.span.end_s, spans[-1].end_s + AROUND_S))
        if made and near.start_s - made[-1][0].end_s <= APART_S:
            made[-1] = (made[-1][0].hull(near), made[-1][1] + 1)
        else:
            made.append((near, 1))
    return [(span, count / len(numbers)) for span, count in made]


def _unread(review: Review) -> Iterator[_Candidate]:
    for stretch in review.stretches:
        if stretch.held_as == "unreadable":
            clock = review.clocks.get(stretch.source.recording)
            start_s = clock.to_session_s(stretch.span.start_s) if clock else stretch.span.start_s
            where = Part("searched and absent", "", source=stretch.source, span=stretch.span, start_s=start_s)
            yield _Candidate(where, UNREAD_CHANCE, (f"sound that could not be read: {stretch.why}",), None)


def _touching(candidates: Iterable[_Candidate]) -> Iterator[Sequence[_Candidate]]:
    """Groups of candidates that one playing settles: neighbours are played together where that settles more a second than the better one."""
    placed = sorted(candidates, key=lambda c: (str(c.part.source), c.part.span.start if c.part.span else -1, c.part.span.end if c.part.span else -1))
    stack: list[list[_Candidate]] = []
    for candidate in placed:
        stack.append([candidate])
        while len(stack) > 1 and _better_together(stack[-2], stack[-1]):
            stack[-2:] = [stack[-2] + stack[-1]]
    yield from stack


def _better_together(one: Sequence[_Candidate], two: Sequence[_Candidate]) -> bool:
    if not _near(one, two):
        return False
    rates = [sum(c.expected for c in group) / _seconds(_hull(group)) for group in (one, two, (*one, *two))]
    return rates[2] >= max(rates[:2])


def _hull(group: Sequence[_Candidate]) -> Span | None:
    hull = None
    for candidate in group:
        if candidate.part.span:
            hull = candidate.part.span if hull is None else hull.hull(candidate.part.span)
    return hull


def _seconds(hull: Span | None) -> float:
    return (hull.duration_s + 2 * PAD_S if hull else NO_SOUND_S) + START_S


def _near(one: Sequence[_Candidate], two: Sequence[_Candidate]) -> bool:
    first, second = _hull(one), _hull(two)
    if one[0].part.source != two[0].part.source or first is None or second is None:
        return False
    return second.start_s - first.end_s <= 2 * PAD_S and second.end_s - first.start_s <= LONGEST_S


def _item(group: Sequence[_Candidate]) -> ListeningItem:
    hull = _hull(group)
    worst = max(group, key=lambda candidate: candidate.expected)
    why = tuple(dict.fromkeys(reason for candidate in group for reason in candidate.why))
    first = min((c.part.start_s for c in group if c.part.start_s is not None), default=None)
    return ListeningItem(replace(worst.part, span=hull or worst.part.span, start_s=first), _seconds(hull),
                         sum(candidate.expected for candidate in group), why,
                         next((c.row for c in sorted(group, key=lambda c: -c.expected) if c.row is not None), None))

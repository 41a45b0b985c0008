"""What the plan asks for and nobody said, or that was declined, left out by order, called off, or given later.

Compared are the plan's steps, ratings and readouts with the rows and, more loosely, with the words: a thing of which the words were
said is not claimed to be missing. "Not asked" is said of the talk that was read, never of sound that could not be read.
"""
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache, lru_cache
from itertools import product

from ..harvest.progress import progress
from ..harvest.rating_axes import AxisBook
from ..harvest.view import View, content, phrases, stems_of, views
from ..records.rows import Field, Part, Row
from ..session import Card, PlannedRating, PlannedReadout, Step
from ..wording.english import is_function_word
from ..wording.soundalike import Sounds, pronounce_words, sound_likeness
from .hearing_coverage import HearingCoverage, hearing_coverage
from .review import Findings, Review

NAME = "planned and not said"
POSSIBLY = "possibly said, not read"
UNREAD_S = 1.0
"""So many seconds of talk that could not be read are enough to hold a planned word."""
_HALF, _TELLING, _LIKE = 0.5, 3, 0.8
"""Share of a step's words that must be heard; letters of a word that tells something; likeness of sound at which a word counts as heard."""
_DECLINES = phrases("won't rate | can't rate | couldn't tell | can't tell | can't say | couldn't say | no rating | decline | not going to rate | "
                    "i'll pass | i'd rather not | don't want to rate")
_OFF = phrases("called off | is off | off then | cancelled | canceled | scrubbed")


def planned_not_said(review: Review) -> Findings:
    """A row for each planned thing that was not simply said, in the order of the plan."""
    search = _Search(review)
    return Findings(added=[row for card in review.talk.session.cards for row in search.card(card)])


class _Search:
    """The talk and its rows, indexed once."""

    def __init__(self, review: Review) -> None:
        self.review, self.progress = review, progress(review.talk)
        self.views: tuple[View, ...] = tuple(v for v in views(review.talk) if not v.turn.commentary and not v.turn.set_aside)
        self.stems = [stems_of(view) for view in self.views]
        self.book = AxisBook.of(review.talk.session)
        self.read_over, self.place = cache(self._read_over), cache(self._place)  # most cards of a long plan are never opened: one answer for all
        self.recognised = any(view.turn.line_index is None and view.turn.span is not None for view in self.views)

    def card(self, card: Card) -> Iterator[Row]:
        turns = frozenset(self.progress.turns_of(card.id))
        states = [(step, self._step(card, step)) for step in card.steps]
        badly_heard = self.recognised and 2 * sum(state == "not asked" for _, state in states) >= len(states) > 1
        for step, state in states:
            if state is not None:
                doubted = POSSIBLY if state == "not asked" and badly_heard else self._doubted(state, step.text, turns, _HALF)
                yield self._row(card, ("step", step.id, None), {}, doubted)
        if card.id in self.progress.off:
            return
        for planned in card.ratings:
            yield from self._ratings(card, planned, turns)
        for readout in card.readouts:
            if not self._read(card, readout):
                state = self._asked_state(frozenset(content(readout.what)), turns)
                yield self._row(card, ("readout", readout.what, readout.subject), {}, self._doubted(state, readout.what, turns, 1.0))

    def _doubted(self, state: str, name: str, turns: frozenset[int], share: float) -> str:
        """Over recognised sound a thing is not claimed to be missing where so much of its name was heard, or words that sound like it."""
        if state != "not asked" or not self.recognised:
            return state
        wanted = [word for word in re.findall(r"[a-z]+", name.lower()) if len(word) >= _TELLING and not is_function_word(word)]
        for view in self.views:
            if wanted and view.turn.index in turns and sum(self._heard(word, view) for word in wanted) >= share * len(wanted):
                return POSSIBLY
        return state

    def _heard(self, word: str, view: View) -> bool:
        return any(word[:_TELLING + 1] == other[:_TELLING + 1] or sound_likeness(_sounds(word), _sounds(other)) >= _LIKE
                   for other in view.words if len(other) >= _TELLING)

    # steps

    def _step(self, card: Card, step: Step) -> str | None:
        """None where the step was begun or done, or its words were said while its card was open; else what became of it."""
        events = [event for event in self.progress.events if event.step == step.id]
        if any(event.event != "skipped" for event in events):
            return None
        if events:
            view = next(v for v in self.views if v.turn.index == events[0].turn)
            return "called off" if view.find(_OFF) else "skipped by order"
        wanted = frozenset(content(step.text))
        open_ = frozenset(self.progress.turns_of(card.id))
        said = any(v.turn.index in open_ and len(wanted & stems) >= max(2, 0.75 * len(wanted))
                   for v, stems in zip(self.views, self.stems, strict=True))
        return None if said else "not asked"

    # ratings

    def _ratings(self, card: Card, planned: PlannedRating, turns: frozenset[int]) -> Iterator[Row]:
        each = [dict(zip(planned.each, values, strict=True)) for values in product(*planned.each.values())]
        for axis, by, extra in product(planned.axes, planned.by or (None,), each):
            where = {**planned.when, **extra}
            state = self._rating(card, (axis, by), where, turns)
            if state is not None:
                listed = state == "not asked" and self._rest_of_list(planned, axis, turns)
                yield self._row(card, ("rating", axis, by), where, POSSIBLY if listed else self._doubted(state, axis, turns, 1.0))

    def _rest_of_list(self, planned: PlannedRating, axis: str, turns: frozenset[int]) -> bool:
        """Over recognised sound: other axes of the same list were rated, so that this one may be what was not made out."""
        return self.recognised and any(row.kind == "ratings" and row.turn in turns and row.get("axis") in planned.axes and row.get("axis") != axis
                                       for row in self.review.rows)

    def _rating(self, card: Card, of: tuple[str, str | None], where: Mapping[str, str], turns: frozenset[int]) -> str | None:
        axis, by = of
        given = [row for row in self.review.rows if row.kind == "ratings" and row.get("axis") == axis and _of_card(row, card.id)
                 and (by is None or row.get("subject") in (by, None)) and _fits(row.get("condition"), where)]
        if given:
            return None if any(row.turn in turns for row in given) or not turns or self._last_card(card, given) else "given later"
        if self._declined(axis, by, turns):
            return "declined"
        return self._asked_state(frozenset(content(axis)), turns)

    def _last_card(self, card: Card, given: list[Row]) -> bool:
        """Whether no other card was open when it was given: then it was given in its place."""
        return all(self.progress.at(row.turn or 0).card in (None, card.id) for row in given)

    def _declined(self, axis: str, by: str | None, turns: frozenset[int]) -> bool:
        for view in self.views:
            if view.turn.index not in turns or by is not None and view.turn.station not in (by, None):
                continue
            for first, stop in view.sentences:
                named = any(any(a.name == axis for a in m.axes) for m in self.book.find(view, None) if first <= m.start < stop)
                if named and view.find(_DECLINES, first, stop):
                    return True
        return False

    def _asked_state(self, wanted: frozenset[str], turns: frozenset[int]) -> str:
        asked = any(v.turn.index in turns and any(v.asks(a, b) and wanted <= stems_of(v, a, b) for a, b in v.sentences) for v in self.views)
        return "asked, no answer" if asked else "not asked"

    # readouts

    def _read(self, card: Card, planned: PlannedReadout) -> bool:
        """Given as a row while the card was open or just before it, or its words said beside a number then."""
        turns = self._around(card)
        names = [frozenset(content(name)) for name in (planned.what, *planned.also_called)]
        for row in self.review.rows:
            if row.kind == "readouts" and row.turn in turns and _about(row, names, planned.subject):
                return True
        others = {word for r in card.readouts if r.what != planned.what for word in content(r.what)}
        subject = frozenset(content(planned.subject or "")) if self._shared(card, planned) else frozenset()
        return any(v.turn.index in turns and v.numbers and any(_worded(name, others, stems) for name in names)
                   and (not subject or v.turn.station == planned.subject or bool(subject & stems))
                   for v, stems in zip(self.views, self.stems, strict=True))

    def _around(self, card: Card) -> frozenset[int]:
        """The turns of a card, and before the first card was opened those that led up to it."""
        turns = self.progress.turns_of(card.id)
        opened = next((index for index, _, _ in self.progress.cards), 0)
        early = range(opened) if turns and turns[0] == opened else range(0)
        return frozenset((*turns, *early))

    @staticmethod
    def _shared(card: Card, planned: PlannedReadout) -> bool:
        """Whether the card asks the same readout of several subjects, so that whose it is must be told."""
        return len({r.subject for r in card.readouts if r.what == planned.what}) > 1

    # rows

    def _row(self, card: Card, what: tuple[str, str, str | None], where: Mapping[str, str], state: str) -> Row:
        item, name, subject = what
        coverage = self._coverage(card)
        why = (f"searched while card {card.id} was open", *((str(coverage),) if coverage else ()))
        if state == "not asked" and coverage is not None and coverage.unread_s >= UNREAD_S:
            state = POSSIBLY
        fields = {"card": Field(card.id, "plan"), "item": Field(item, "plan"), "what": Field(name, "plan"), "subject": Field(subject, "plan"),
                  "condition": Field(dict(where), "plan"), "state": Field(state, "assumed", part=0, why=why)}
        witnesses = {"hearing coverage": round(coverage.share, 4)} if coverage else {}
        return Row("coverage", fields, (self._searched(card, name),), witnesses=witnesses)

    def _coverage(self, card: Card) -> HearingCoverage | None:
        """How much of the talk while the card was open could be read; of all talk where it was never opened."""
        return self.read_over(self.progress.turns_of(card.id))

    def _read_over(self, indexes: tuple[int, ...]) -> HearingCoverage | None:
        turns = [self.review.talk.turns[i] for i in indexes] or self.review.talk.turns
        starts = [turn.start_s for turn in turns if turn.start_s is not None]
        ends = [turn.end_s for turn in turns if turn.end_s is not None]
        return hearing_coverage(self.review, min(starts), max(ends)) if starts and ends else None

    def _searched(self, card: Card, name: str) -> Part:
        return replace(self.place(self.progress.turns_of(card.id)), text=f"{name}: card {card.id}")

    def _place(self, indexes: tuple[int, ...]) -> Part:
        turns = [self.review.talk.turns[i] for i in indexes] or [v.turn for v in self.views]
        spans = [turn.span for turn in turns if turn.span]
        first = turns[0] if turns else None
        together = {turn.source for turn in turns}
        span = spans[0].hull(spans[-1]) if spans and len(together) == 1 else None
        return Part("searched and absent", "", source=first.source if first and span else None, span=span,
                    line_index=first.line_index if first else None, start_s=first.start_s if first else None)


@lru_cache(maxsize=8192)
def _sounds(word: str) -> Sounds:
    return pronounce_words([word])


def _of_card(row: Row, card: str) -> bool:
    where = row.get("condition")
    return not isinstance(where, Mapping) or where.get("card") in (card, None)


def _fits(given: object, where: Mapping[str, str]) -> bool:
    return not isinstance(given, Mapping) or all(given.get(key) in (value, None) for key, value in where.items())


def _worded(name: frozenset[str], others: set[str], stems: frozenset[str]) -> bool:
    """A readout's name in a turn: a word that no other readout of the card has, or all its words, cut short or not."""
    if name - others and any(_akin(word, stems) for word in name - others):
        return True
    return bool(name) and all(_akin(word, stems) for word in name)


def _akin(word: str, stems: frozenset[str]) -> bool:
    return any(word == other or len(other) >= 4 and word.startswith(other) for other in stems)


def _about(row: Row, names: list[frozenset[str]], subject: str | None) -> bool:
    said = frozenset(content(f"{row.get('parameter') or ''} {row.get('subject') or ''}"))
    other = row.get("subject") if subject and row.get("subject") else None
    if other and not frozenset(content(str(other))) & (frozenset(content(subject or "")) | frozenset().union(*names)):
        return False
    own = frozenset(content(subject or ""))
    return any(2 * len((said - own) & (name - own)) >= max(len(name - own), 1) for name in names)

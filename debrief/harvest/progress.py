"""Which card and step hold at each turn, from the plan and from the talk; what begins, ends, is left out or done again.

A step begins where it is called by its id or in the words of the plan, and ends where somebody says so or reports the state that
the step asks for. Every event keeps its place and its grounds; what nobody says in words (the last value of a set) is not told.
"""
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from ..session import Card, Step
from .poll_rounds import rounds, stand_words
from .step_ids import IdMention, PlanIndex, opens, read_ids
from .step_words import (
    again_said,
    called_off,
    completes,
    deferred,
    for_one,
    left_out_in_words,
    marks,
    not_an_order,
    pointed_at,
    reports_done,
    skips,
    starts_by_text,
)
from .talk import Talk
from .view import View, once, views

_SOON = 25
Event = Literal["start", "complete", "skipped", "repeat"]


@dataclass(frozen=True, slots=True)
class StepEvent:
    """Something that happened to a planned step, over tokens [start, end) of a turn. called_off: the order came with the card."""

    turn: int
    start: int
    end: int
    card: str | None
    step: str
    event: Event
    why: str
    certain: bool = True
    called_off: bool = False


@dataclass(frozen=True, slots=True)
class Standing:
    """What holds at the end of a turn: the card, the step last begun in it, how often that step was tried."""

    card: str | None = None
    step: str | None = None
    tries: int = 1


@dataclass(frozen=True)
class Progress:
    """events in order; standing: by turn index; called: cards and steps that were named at all, by id; off: cards called off.

    cards: (turn, token, card) where one was opened; named: (turn, start, end) of every id that was said.
    """

    events: tuple[StepEvent, ...] = ()
    standing: tuple[Standing, ...] = ()
    called: frozenset[str] = frozenset()
    off: frozenset[str] = frozenset()
    cards: tuple[tuple[int, int, str], ...] = ()
    named: tuple[tuple[int, int, int], ...] = ()

    def at(self, turn: int) -> Standing:
        return self.standing[turn] if 0 <= turn < len(self.standing) else Standing()

    def turns_of(self, card: str) -> tuple[int, ...]:
        """Indexes of the turns during which this card was open."""
        return self._by_card.get(card, ())

    @cached_property
    def _by_card(self) -> dict[str | None, tuple[int, ...]]:
        turns: dict[str | None, list[int]] = {}
        for index, standing in enumerate(self.standing):
            turns.setdefault(standing.card, []).append(index)
        return {card: tuple(found) for card, found in turns.items()}


def progress(talk: Talk) -> Progress:
    """The progress of a talk, worked out once."""
    return once(talk, "_progress", lambda given: _Walk(given).run())


@dataclass
class _Walk:
    """One pass over the turns. state: by step id, how far it got; caller, since: who began the open step, and in which turn."""

    talk: Talk
    events: list[StepEvent] = field(default_factory=list)
    cards: list[tuple[int, int, str]] = field(default_factory=list)
    called: set[str] = field(default_factory=set)
    named: list[tuple[int, int, int]] = field(default_factory=list)
    off: set[str] = field(default_factory=set)
    state: dict[str, Event] = field(default_factory=dict)
    card: Card | None = None
    step: Step | None = None
    tries: int = 1
    since: int = -1
    caller: str | None = None
    marked: bool = False
    loose_card: str | None = None

    def run(self) -> Progress:
        plan = PlanIndex.of(self.talk.session)
        standing = []
        for view in views(self.talk):
            if not view.turn.commentary and not view.turn.set_aside:
                self._turn(view, plan)
            card = self.card.id if self.card else self.loose_card
            standing.append(Standing(card, self.step.id if self.step else None, self.tries))
        return Progress(tuple(self.events), tuple(standing), frozenset(self.called), frozenset(self.off), tuple(self.cards), tuple(self.named))

    def _turn(self, view: View, plan: PlanIndex) -> None:
        due = next(iter(self._waiting()), None)
        mentions = read_ids(view, plan, self.card.id if self.card else None, due.id if due else None)
        before = len(self.events)
        self.named += [(view.turn.index, mention.start, mention.end) for mention in mentions]
        if self.card and self.step and not any(m.of == "step" and m.step != self.step.id for m in mentions):
            self._report(view, plan)
        for mention in mentions:
            if mention.of == "card":
                self._named_card(view, mention, plan)
            elif mention.planned:
                self._named_step(view, mention, plan)
            else:
                self._loose_step(view, mention)
        if self.card and len(self.events) == before or self._only_completes(before):
            self._in_words(view, plan, self.events[before].end if len(self.events) > before else 0)

    def _only_completes(self, before: int) -> bool:
        fresh = self.events[before:]
        return len(fresh) == 1 and fresh[0].event == "complete"

    def _tell(self, view: View, place: tuple[int, int], step: Step, event: Event, why: str, certain: bool = True) -> None:
        card = next((c for c in self.talk.session.cards if step in c.steps), None)
        self.events.append(StepEvent(view.turn.index, *place, card.id if card else None, step.id, event, why, certain))
        self.state[step.id] = event
        self.called.add(step.id)

    # cards ---------------------------------------------------------------------------------------------------------------

    def _named_card(self, view: View, mention: IdMention, plan: PlanIndex) -> None:
        self.called.add(mention.card or "")
        if not mention.planned:
            self.loose_card = mention.card
            return
        card = next(c for c in self.talk.session.cards if c.id == mention.card)
        if called_off(view, mention.start, mention.end):
            self._card_off(view, mention, card)
        elif completes(view, mention.start, mention.end):
            self._card_done(view, mention, card)
        elif not deferred(view, mention.start, mention.end):
            self._open(view, mention, card)

    def _card_off(self, view: View, mention: IdMention, card: Card) -> None:
        self.off.add(card.id)
        for step in card.steps:
            if self.state.get(step.id) is None:
                self._tell(view, (mention.start, mention.end), step, "skipped", "its card was called off")

    def _card_done(self, view: View, mention: IdMention, card: Card) -> None:
        if self.step and self.step in card.steps and self.state.get(self.step.id) in ("start", "repeat"):
            self._tell(view, (mention.start, mention.end), self.step, "complete", "its card was called complete")

    def _open(self, view: View, mention: IdMention, card: Card) -> None:
        self.cards.append((view.turn.index, mention.start, card.id))
        if card is not self.card:
            self.card, self.step, self.tries, self.marked = card, None, 1, False

    # steps by id -----------------------------------------------------------------------------------------------------------

    def _named_step(self, view: View, mention: IdMention, plan: PlanIndex) -> None:
        card, step = next((c, s) for c, s in plan.steps.values() if s.id == mention.step)
        place = (mention.start, mention.end)
        if skips(view, *place, frozenset(plan.words[step.id])):
            if not for_one(view, mention.end):
                self._tell(view, place, step, "skipped", "said to be left out")
        elif completes(view, *place) or self.state.get(step.id) in ("start", "repeat") and pointed_at(view, *place):
            if self.state.get(step.id) != "complete" or self._only_inferred(step):
                self._begin_silently(card, step)
                self._tell(view, place, step, "complete", "said to be complete")
        elif again_said(view, *place) and self.state.get(step.id):
            self.step, self.tries, self.since = step, self.tries + 1, view.turn.index
            self._tell(view, place, step, "repeat", "called again")
        elif self._may_begin(view, step) and not not_an_order(view, *place):
            self._begin(view, place, card, step, "called by its number", certain=mention.sure)

    def _loose_step(self, view: View, mention: IdMention) -> None:
        """A step that no plan knows: begun once, where it opens what is said; done or left out where that is said of it."""
        place, name = (mention.start, mention.end), mention.step or ""
        state = self.state.get(name)
        event: Event | None = None
        if skips(view, *place):
            event = "skipped" if state is None else None
        elif completes(view, *place):
            event = "complete" if state != "complete" else None
        elif again_said(view, *place) and state:
            event = "repeat"
        elif state is None and not not_an_order(view, *place) and opens(view, mention.start):
            event = "start"
        if event is not None:
            self.events.append(StepEvent(view.turn.index, *place, mention.card, name, event, "no plan names this step"))
            self.state[name] = event

    def _only_inferred(self, step: Step) -> bool:
        """The step was told done by what it had reached, and now somebody calls it complete: the call is when it is done."""
        last = next((event for event in reversed(self.events) if event.step == step.id), None)
        if last is None or last.event != "complete" or last.why in ("said to be complete", "said to be done", "its card was called complete"):
            return False
        self.events.remove(last)
        return True

    def _may_begin(self, view: View, step: Step) -> bool:
        """Not begun yet; one that was left out a moment ago is only named again."""
        if self.state.get(step.id) != "skipped":
            return step.id not in self.state
        return all(event.turn < view.turn.index - 3 for event in self.events if event.step == step.id)

    def _begin_silently(self, card: Card, step: Step) -> None:
        if card is not self.card:
            self.card, self.tries = card, 1
        self.step = step

    def _begin(self, view: View, place: tuple[int, int], card: Card, step: Step, why: str, certain: bool = True) -> None:
        if card is not self.card:
            self.cards.append((view.turn.index, place[0], card.id))
        self.card, self.step, self.tries = card, step, 1
        self.since, self.caller, self.marked = view.turn.index, view.turn.station, True
        self._tell(view, place, step, "start", why, certain)

    # steps in words -----------------------------------------------------------------------------------------------------------

    def _report(self, view: View, plan: PlanIndex) -> None:
        """The open step, reported done in words."""
        step, polled = self.step, rounds(self.talk).get(view.turn.index)
        if polled is not None and (view.turn.index <= polled.last or polled.words & set(stand_words(view))):
            return  # 'closed and holding' answers a poll
        if step is None or self.state.get(step.id) not in ("start", "repeat"):
            return
        done = reports_done(view, plan.words[step.id], step.text, self._other(view), view.turn.index - self.since)
        if done:
            self._tell(view, done[:2], step, "complete", done[2])

    def _other(self, view: View) -> bool:
        """Whether this is another station than the one that called the step, or not known to be the same."""
        return view.turn.station is None or view.turn.station != self.caller

    def _in_words(self, view: View, plan: PlanIndex, after: int) -> None:
        """A step of the card that nobody has called yet, begun in the words of the plan or on the first mark."""
        if self.card is None:
            return
        waiting = self._waiting()
        left = [(found, step) for step in waiting if (found := left_out_in_words(view, plan.words[step.id]))]
        if left:
            found, step = max(left, key=lambda item: item[0][0])
            self._tell(view, found[1:], step, "skipped", "left out in the words of the plan", certain=found[0] > 0.9)
            return
        open_ = self.step is not None and self.state.get(self.step.id) in ("start", "repeat")
        for step in waiting[:2]:
            place = starts_by_text(view, plan.words[step.id], step.text, after, open_)
            if place:
                self._begin(view, place, self.card, step, "begun in the words of the plan", certain=not open_)
                return
        place = marks(view)
        if place and waiting and self._awaits_first(view, waiting[0]):
            self._begin(view, place, self.card, waiting[0], "the first mark after its card was called", certain=False)

    def _awaits_first(self, view: View, step: Step) -> bool:
        """The first step of a card that was opened a short while ago, with nothing begun since."""
        opened = self.cards[-1][0] if self.cards else 0
        first = self.card is not None and step is self.card.steps[0]
        return first and not self.marked and self.step is None and view.turn.index - opened <= _SOON

    def _waiting(self) -> Sequence[Step]:
        """Steps of the card behind the last that was begun."""
        steps = self.card.steps if self.card else ()
        last = max((i for i, step in enumerate(steps) if self.state.get(step.id) not in (None, "skipped")), default=-1)
        return [step for step in steps[last + 1:] if self.state.get(step.id) is None]



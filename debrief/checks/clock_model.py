"""Clocks as instances: what each reads at any second of the session, from the events told about it.

Conventions: session seconds. A clock that counts up reads seconds since its start; a count reads negative before zero, so that 'T minus
two minutes' is -120. A second start begins from zero again; a held clock stands; a release goes on from where it stood.
"""
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from ..harvest.talk import Talk
from ..records.rows import Part, Row
from ..session import ClockPlan

AGREE_S = 3.0
SAID_TURNS = 2


@dataclass(frozen=True, order=True, slots=True)
class Beat:
    """From at_s on the clock reads reading_s and runs or stands. row: position of the row that says so, -1 where calls agree."""

    at_s: float
    reading_s: float
    running: bool
    row: int = -1


@dataclass(frozen=True, slots=True)
class ClockRun:
    """One clock by name with all its beats, in order of time. plan: its entry in the session file."""

    name: str
    beats: tuple[Beat, ...] = ()
    plan: ClockPlan | None = None

    @property
    def down(self) -> bool:
        return self.plan is not None and self.plan.counts == "down"

    def beat(self, at_s: float) -> Beat | None:
        """The last beat at or before this second."""
        return next((beat for beat in reversed(self.beats) if beat.at_s <= at_s + AGREE_S), None)

    def reading(self, at_s: float) -> float | None:
        """What the clock reads at this second; None before its first beat."""
        beat = self.beat(at_s)
        if beat is None:
            return None
        return beat.reading_s + (max(0.0, at_s - beat.at_s) if beat.running else 0.0)

    def reaches(self, reading_s: float, before_s: float) -> float | None:
        """The last second before `before_s` at which the clock came to this reading; the one due next where it has not yet."""
        found = [self._reached(index, reading_s) for index in range(len(self.beats))]
        past = [at for at, beat in zip(found, self.beats, strict=True) if at is not None and beat.at_s <= before_s]
        return past[-1] if past else None

    def _reached(self, index: int, reading_s: float) -> float | None:
        beat = self.beats[index]
        until = self.beats[index + 1].at_s if index + 1 < len(self.beats) else float("inf")
        at_s = beat.at_s + reading_s - beat.reading_s
        return at_s if beat.running and beat.at_s <= at_s <= until else None


def moment(row: Row, talk: Talk) -> float | None:
    """Session second of the words that carry a row: from word times, else spread over the turn by its letters."""
    place = row.place
    if row.turn is None or place.start_s is None or not 0 <= row.turn < len(talk.turns):
        return place.start_s
    turn = talk.turns[row.turn]
    timed = any(token.span is not None for token in turn.tokens)
    if timed or place.first_word is None or turn.start_s is None or turn.end_s is None:
        return place.start_s
    letters = [len(token.text) + 1 + 6 * token.ends_sentence for token in turn.tokens]
    index = next((i for i, token in enumerate(turn.tokens) if (token.segment, token.word) == (place.segment, place.first_word)), 0)
    return turn.start_s + (turn.end_s - turn.start_s) * sum(letters[:index]) / max(1, sum(letters) - 6)


def clock_runs(rows: Sequence[Row], talk: Talk) -> dict[str, ClockRun]:
    """Every clock that has an event or a call, by name, with its beats. Clocks without a plan start with their first mark."""
    plans = {plan.name: plan for plan in talk.session.clocks}
    told = _told(rows, talk)
    names = [*plans, *(name for name in told if name not in plans)]
    runs = {name: _run(ClockRun(name, (), plans.get(name)), told.get(name, ())) for name in names}
    return {name: _released(run, _calls(run, told.get(name, ()))) for name, run in _derived(runs).items()}


Told = tuple[float, int, Row]
"""When, at which position, and the row: a clock call or a clock event."""


def _told(rows: Sequence[Row], talk: Talk) -> dict[str, list[Told]]:
    """Calls and events of each clock, in order of time."""
    found: dict[str, list[Told]] = defaultdict(list)
    for position, row in enumerate(rows):
        at_s = moment(row, talk) if row.kind in ("clock_events", "clock_calls") and row.get("clock") else None
        if at_s is not None:
            found[str(row.get("clock"))].append((at_s, position, row))
    return {name: sorted(one, key=lambda item: item[:2]) for name, one in found.items()}


def _run(run: ClockRun, told: Sequence[Told]) -> ClockRun:
    """The clock with a beat for each event told about it."""
    run = ClockRun(run.name, _unheard_start(run, told), run.plan)
    marked: set[int | None] = {row.turn for _, _, row in told if row.kind == "clock_events"}
    for at_s, position, row in told:
        event = _event_of(row, run, marked)
        beat = _beat(run, event, at_s, position, _said_with(told, row)) if event else None
        if beat is not None and not _told_twice(run, beat):
            run = ClockRun(run.name, (*run.beats, beat), run.plan)
    return run


def _unheard_start(run: ClockRun, told: Sequence[Told]) -> tuple[Beat, ...]:
    """A clock whose start nobody heard runs from where at least two of the calls before its first event agree."""
    first = next((index for index, (_, _, row) in enumerate(told) if row.kind == "clock_events" or (run.plan is None and row.get("mark"))),
                 len(told))
    if first < len(told) and told[first][2].get("event") in (None, "start"):
        return ()
    calls = _calls(run, told[:first])
    agreed = _agreeing([(at - said, at, said) for at, said in calls])
    return (Beat(agreed[0][1], agreed[0][2], True),) if len(agreed) >= 2 else ()


def _agreeing(told: Sequence[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    """The largest group whose first members lie within AGREE_S of one of them, in order."""
    best = max(told, key=lambda one: sum(abs(one[0] - other[0]) <= AGREE_S for other in told), default=None)
    return [one for one in told if best is not None and abs(one[0] - best[0]) <= AGREE_S]


def _said_with(told: Sequence[Told], event: Row) -> float | None:
    """The reading spoken with an event, in its turn or the two before ('recycle to T minus three minutes'), without its sign."""
    if event.turn is None:
        return None
    near = [row for _, _, row in told if row.kind == "clock_calls" and row.turn is not None and 0 <= event.turn - row.turn <= SAID_TURNS]
    said = [float(row.get("remaining_s")) for row in near if row.get("remaining_s") is not None]  # type: ignore[arg-type]
    return said[-1] if said else None


def _told_twice(run: ClockRun, beat: Beat) -> bool:
    """The same event heard on another loop, or said and marked."""
    last = run.beats[-1] if run.beats else None
    return (last is not None and beat.at_s - last.at_s <= AGREE_S and last.running == beat.running
            and abs(last.reading_s - beat.reading_s) <= AGREE_S)


def _event_of(row: Row, run: ClockRun, marked: set[int | None]) -> str | None:
    if row.kind == "clock_events":
        return str(row.get("event"))
    first = row.get("mark") and run.plan is None and not run.beats and row.turn not in marked
    return "start" if first else None


def _beat(run: ClockRun, event: str, at_s: float, row: int, said_s: float | None) -> Beat | None:
    now = run.reading(at_s)
    if event in ("start", "reset"):
        begin = -said_s if said_s is not None and run.down else 0.0
        if run.down and said_s is None:
            begin = -float(run.plan.from_s) if run.plan and run.plan.from_s else 0.0
        return Beat(at_s, begin, True, row)
    if event == "recycle" and said_s is not None:
        return Beat(at_s, -said_s if run.down else said_s, False, row)
    if event in ("hold", "release") and now is not None:
        return Beat(at_s, now, event == "release", row)
    return None


def _derived(runs: dict[str, ClockRun]) -> dict[str, ClockRun]:
    """Clocks that count from another one ('bottom time' from 'left surface') share its beats."""
    made = dict(runs)
    for name, run in runs.items():
        base = runs.get(run.plan.from_) if run.plan and run.plan.from_ else None
        if base is not None and not run.beats:
            made[name] = ClockRun(name, base.beats, run.plan)
    return made


def _released(run: ClockRun, calls: Sequence[tuple[float, float]]) -> ClockRun:
    """A clock that went on after a hold though nobody was heard to say so: where at least two calls agree on when."""
    beats = list(run.beats)
    for index, beat in enumerate(run.beats):
        until = run.beats[index + 1].at_s if index + 1 < len(run.beats) else float("inf")
        if beat.running:
            continue
        later = [(at - (said - beat.reading_s), at, said) for at, said in calls
                 if beat.at_s < at < until and said > beat.reading_s + AGREE_S]
        agreed = [one[0] for one in _agreeing(later) if one[0] >= beat.at_s]
        if len(agreed) >= 2:
            beats.append(Beat(median(agreed), beat.reading_s, True))
    return ClockRun(run.name, tuple(sorted(beats)), run.plan)


def _calls(run: ClockRun, told: Sequence[Told]) -> list[tuple[float, float]]:
    """(session second, reading said) of every call."""
    return [(at, said) for at, _, row in told if row.kind == "clock_calls" and (said := said_s(row, run)) is not None]


def said_s(row: Row, run: ClockRun) -> float | None:
    """What a call says the clock reads, in its own sign; None for marks and for time left on a clock without a known limit."""
    offset, left = row.get("offset_s"), row.get("remaining_s")
    if offset is not None:
        return float(offset)  # type: ignore[arg-type]
    if left is None:
        return None
    if run.down:
        return -float(left)  # type: ignore[arg-type]
    limit = limit_s(run.plan)
    return limit - float(left) if limit is not None else None  # type: ignore[arg-type]


def limit_s(plan: ClockPlan | None) -> float | None:
    """The limit of a clock in seconds, None where the plan has none."""
    if plan is None:
        return None
    if plan.limit_s is not None:
        return float(plan.limit_s)
    return plan.limit_min * 60 if plan.limit_min is not None else None


def evidence_of(run: ClockRun, rows: Sequence[Row], at_s: float) -> tuple[Part, ...]:
    """The sound behind what the clock reads at this second: the row of its last beat."""
    beat = run.beat(at_s)
    return (rows[beat.row].place,) if beat is not None and beat.row >= 0 else ()

"""Clocks as instances: what each reads at any second of the session, from the events told about it.

Conventions: session seconds. A clock that counts up reads seconds since its start; a count reads negative before zero, so that 'T minus
two minutes' is -120. A second start begins from zero again; a held clock stands; a release goes on from where it stood.
"""
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from ..harvest.talk import Talk
from ..records.rows import Part, Row
from ..session import ClockPlan

AGREE_S = 3.0


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
    runs = {name: ClockRun(name, (), plan) for name, plan in plans.items()}
    marked: set[tuple[str, int | None]] = set()
    readings = _said_readings(rows)
    for position, row in sorted(enumerate(rows), key=lambda item: (moment(item[1], talk) or 0.0, item[0])):
        name = str(row.get("clock") or "")
        at_s = moment(row, talk)
        if row.kind not in ("clock_events", "clock_calls") or not name or at_s is None:
            continue
        run = runs.setdefault(name, ClockRun(name, (), plans.get(name)))
        event = _event_of(row, run, marked)
        beat = _beat(run, event, at_s, position, readings.get((row.turn, name))) if event else None
        if beat is not None and not _told_twice(run, beat):
            runs[name] = ClockRun(name, (*run.beats, beat), run.plan)
    return {name: _released(_anchored(run, rows, talk), rows, talk) for name, run in _derived(runs).items()}


def _told_twice(run: ClockRun, beat: Beat) -> bool:
    """The same event heard on another loop, or said and marked."""
    last = run.beats[-1] if run.beats else None
    return (last is not None and beat.at_s - last.at_s <= AGREE_S and last.running == beat.running
            and abs(last.reading_s - beat.reading_s) <= AGREE_S)


def _event_of(row: Row, run: ClockRun, marked: set[tuple[str, int | None]]) -> str | None:
    if row.kind == "clock_events":
        marked.add((run.name, row.turn))
        return str(row.get("event"))
    first = row.get("mark") and run.plan is None and not run.beats and (run.name, row.turn) not in marked
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


def _said_readings(rows: Sequence[Row]) -> dict[tuple[int | None, str], float]:
    """The first reading spoken in a turn on each clock ('recycle to T minus three minutes'), seconds, without its sign."""
    found: dict[tuple[int | None, str], float] = {}
    for row in rows:
        said = row.get("remaining_s") if row.kind == "clock_calls" else None
        if said is not None:
            found.setdefault((row.turn, str(row.get("clock"))), float(said))  # type: ignore[arg-type]
    return found


def _derived(runs: dict[str, ClockRun]) -> dict[str, ClockRun]:
    """Clocks that count from another one ('bottom time' from 'left surface') share its beats."""
    made = dict(runs)
    for name, run in runs.items():
        base = runs.get(run.plan.from_) if run.plan and run.plan.from_ else None
        if base is not None and not run.beats:
            made[name] = ClockRun(name, base.beats, run.plan)
    return made


def _anchored(run: ClockRun, rows: Sequence[Row], talk: Talk) -> ClockRun:
    """A clock whose start nobody heard gets one where at least two of its calls agree on it."""
    if run.beats:
        return run
    zeros = [at - said for at, said in _calls(run, rows, talk)]
    best = max(zeros, key=lambda zero: sum(abs(zero - other) <= AGREE_S for other in zeros), default=None)
    agreed = [zero for zero in zeros if best is not None and abs(zero - best) <= AGREE_S]
    if len(agreed) < 2:
        return run
    return ClockRun(run.name, (Beat(median(agreed), 0.0, True),), run.plan)


def _released(run: ClockRun, rows: Sequence[Row], talk: Talk) -> ClockRun:
    """A clock that went on after a hold though nobody was heard to say so: where at least two calls agree on when."""
    beats = list(run.beats)
    for index, beat in enumerate(run.beats):
        until = run.beats[index + 1].at_s if index + 1 < len(run.beats) else float("inf")
        if beat.running:
            continue
        calls = [(at, said) for at, said in _calls(run, rows, talk) if beat.at_s < at < until and said > beat.reading_s + AGREE_S]
        starts = [at - (said - beat.reading_s) for at, said in calls]
        best = max(starts, key=lambda one: sum(abs(one - other) <= AGREE_S for other in starts), default=None)
        agreed = [one for one in starts if best is not None and abs(one - best) <= AGREE_S and one >= beat.at_s]
        if len(agreed) >= 2:
            beats.append(Beat(median(agreed), beat.reading_s, True))
    return ClockRun(run.name, tuple(sorted(beats)), run.plan)


def _calls(run: ClockRun, rows: Sequence[Row], talk: Talk) -> list[tuple[float, float]]:
    """(session second, reading said) of every call on a clock."""
    return [(at, said) for row in rows if row.kind == "clock_calls" and row.get("clock") == run.name
            if (at := moment(row, talk)) is not None and (said := said_s(row, run)) is not None]


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

"""Every clock call held against its clock: residuals, verdicts, limits with margins, wall clock, and each recording's own drift.

A call that does not fit is a result, not a correction. Nobody is accused unless the recording keeps the clocks' time: in at least
three calls of four the talk must agree with itself (a recording that was cut, or talk that was re-recorded, does not).
Sign of a residual: said minus true, so a clock read too low is negative. Common practice, no source.
"""
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import combinations
from statistics import median

from ..harvest.clock_calls import is_order
from ..records.rows import Field, Row
from ..timebase import hms
from .clock_model import ClockRun, clock_runs, evidence_of, limit_s, moment, said_s
from .review import Check, Findings, Review, look, noted

TOLERANCE_S = 3.0
WHOLE_MINUTE_TOLERANCE_S = 5.0
LATE_S = 5.0
TRUE_TIME_SHARE = 0.75
MIN_CALLS = 3
HACK_TOLERANCE_S = 1.5
MOST_CALLS = 300


@dataclass(frozen=True, slots=True)
class Held:
    """A call against its clock. at_s: session second; residual_s: said minus true; allowed_s: what is within habit."""

    position: int
    run: ClockRun
    at_s: float
    residual_s: float
    allowed_s: float
    order: bool = False
    limit: bool = False

    @property
    def fits(self) -> bool:
        return abs(self.residual_s) <= self.allowed_s

    @property
    def instance(self) -> tuple[str, float]:
        beat = self.run.beat(self.at_s)
        return self.run.name, beat.at_s if beat else 0.0


def held_calls(review: Review, runs: Mapping[str, ClockRun]) -> list[Held]:
    """Every call that says a reading, or that a limit is reached, against the clock it names."""
    found = []
    for position, row in review.of("clock_calls"):
        run, at_s = runs.get(str(row.get("clock"))), moment(row, review.talk)
        if run is None or at_s is None or not run.beats:
            continue
        held = _limit_call(position, row, run, at_s) if row.get("mark") else _reading_call(review, position, row, (run, at_s))
        found += [held] if held else []
    return found


def _reading_call(review: Review, position: int, row: Row, clock: tuple[ClockRun, float]) -> Held | None:
    run, at_s = clock
    said, true = said_s(row, run), run.reading(at_s)
    if said is None or true is None:
        return None
    allowed = WHOLE_MINUTE_TOLERANCE_S if said % 60 == 0 else TOLERANCE_S
    order = row.turn is not None and is_order(review.talk.turns[row.turn].text)
    return Held(position, run, at_s, said - true, allowed, order)


def _limit_call(position: int, row: Row, run: ClockRun, at_s: float) -> Held | None:
    limit = limit_s(run.plan)
    if limit is None or "limit" not in str(row.get("text") or "").lower():
        return None
    due = run.reaches(limit, at_s)
    return Held(position, run, at_s, due - at_s, LATE_S, limit=True) if due is not None else None


def keeps_time(held: Sequence[Held]) -> bool:
    """Whether the recording runs with the spoken clocks: enough calls, and most of them fit."""
    calls = [one for one in held if not one.order and not one.limit]
    return len(calls) >= MIN_CALLS and sum(one.fits for one in calls) >= TRUE_TIME_SHARE * len(calls)


def clocks(review: Review) -> Findings:
    """Residual and verdict of each clock call; readings of clock events; what does not fit; limits that were passed."""
    runs = clock_runs(review.rows, review.talk)
    held = held_calls(review, runs)
    true_time = keeps_time(held)
    together = _by_instance(held)
    changed: dict[int, Row] = {}
    results = []
    for one in held:
        verdict = _verdict(one, together[one.instance]) if true_time else ""
        changed[one.position] = _judged(review.rows[one.position], one, verdict)
        if verdict in ("wrong", "late"):
            parts = evidence_of(one.run, review.rows, one.at_s)
            result = noted(review, one.position, "clocks", _says(one, verdict), serious=True)
            results.append(replace(result, look=(*result.look, *parts)))
    calls = [one for one in held if not one.order and not one.limit]
    if len(calls) >= MIN_CALLS and not true_time:
        fit = sum(one.fits for one in calls)
        results.append(noted(review, calls[0].position, "clocks", f"{fit} of {len(calls)} clock calls fit the recording: its time is not "
                             "the time of the spoken clocks, so no call is judged"))
    changed |= {position: row for position, row in _with_readings(review, runs) if position not in changed}
    return Findings(changed | _marks(review, changed, true_time), (), results)


def _by_instance(held: Sequence[Held]) -> dict[tuple[str, float], list[Held]]:
    found: dict[tuple[str, float], list[Held]] = defaultdict(list)
    for one in held:
        found[one.instance].append(one)
    return found


def _verdict(one: Held, instance: Sequence[Held]) -> str:
    """A call is wrong only where another call on the same run of the clock fits, or the clock's own start was heard."""
    if one.order:
        return "order"
    if one.fits:
        return "right"
    if one.limit:
        return "late" if one.residual_s < 0 else "wrong"
    same = [other for other in instance if other is not one and not other.limit and not other.order]
    if not any(other.fits for other in same) and any(abs(other.residual_s - one.residual_s) <= TOLERANCE_S for other in same):
        return ""
    return "wrong"


def _judged(row: Row, one: Held, verdict: str) -> Row:
    residual = Field(Decimal(f"{one.residual_s:.1f}"), "assumed", why=("said minus what the clock read",))
    made = _surer(row, one, verdict).with_fields(residual_s=residual)
    if verdict:
        made = made.with_fields(verdict=Field(verdict, "assumed", why=("held against the clock's own start and holds",)))
    if verdict in ("wrong", "late"):
        return look(made, _says(one, verdict))
    return replace(made, witnesses={**made.witnesses, "clock residual": round(one.residual_s, 1)})


def _surer(row: Row, one: Held, verdict: str) -> Row:
    """A reading that fits clears the doubt about its unit or its clock; one that was heard and does not fit may be misheard."""
    told = {name: item for name, item in row.fields.items() if name in ("clock", "offset_s", "remaining_s") and item.value is not None}
    if verdict == "right" and not one.limit:
        return row.with_fields(**{name: replace(item, certainty="clear", why=(*item.why, "fits the clock's own time"))
                                  for name, item in told.items() if item.certainty == "doubtful"})
    if verdict == "wrong" and "word probability" in row.witnesses:
        why = "does not fit the clock: misspoken or misheard"
        return row.with_fields(**{name: replace(item, certainty="doubtful", why=(*item.why, why))
                                  for name, item in told.items() if name != "clock"})
    return row


def _says(one: Held, verdict: str) -> str:
    if one.limit:
        when = "late" if one.residual_s < 0 else "early"
        return f"{one.run.name}: the limit was due at {hms(one.at_s + one.residual_s)} and called {abs(one.residual_s):.0f} s {when}"
    said, true = _reading(one.run, one.at_s, one.residual_s), _reading(one.run, one.at_s, 0.0)
    return f"{one.run.name}: said {said}, it read {true}" if verdict else ""


def _reading(run: ClockRun, at_s: float, more_s: float) -> str:
    true = run.reading(at_s) or 0.0
    return hms(round(true + more_s))


def _with_readings(review: Review, runs: Mapping[str, ClockRun]) -> list[tuple[int, Row]]:
    made = []
    for run in runs.values():
        for beat in run.beats:
            if beat.row >= 0 and review.rows[beat.row].kind == "clock_events" and review.rows[beat.row].get("clock") == run.name:
                reading = Field(Decimal(f"{beat.reading_s:.1f}"), "assumed", why=("from the clock's earlier events",))
                made.append((beat.row, review.rows[beat.row].with_fields(reading_s=reading)))
    return made


def _marks(review: Review, changed: Mapping[int, Row], true_time: bool) -> dict[int, Row]:
    """A mark is right by itself: it sets the clock."""
    if not true_time:
        return {}
    return {position: row.with_fields(verdict=Field("right", "assumed", why=("a mark sets its clock",)))
            for position, row in review.of("clock_calls") if row.get("mark") and position not in changed}


def limits(review: Review) -> Findings:
    """For every clock with a limit: when it was due in each run, and what margin was left when the clock was stopped."""
    runs = clock_runs(review.rows, review.talk)
    if not keeps_time(held_calls(review, runs)):
        return Findings()
    results = []
    for run in runs.values():
        limit = limit_s(run.plan)
        for beat, after in zip(run.beats, run.beats[1:], strict=False):
            reading = beat.reading_s + (after.at_s - beat.at_s if beat.running else 0.0)
            if limit is not None and beat.row >= 0 and (not after.running or after.reading_s >= reading):
                over = reading - limit
                state = f"{over:.0f} s past its limit" if over > 0 else f"{-over:.0f} s before its limit"
                says = f"{run.name}: {state} of {hms(limit)} when it was stopped"
                results.append(noted(review, beat.row, "clock limits", says, serious=over > 0))
    return Findings({}, (), results)


@dataclass(frozen=True, slots=True)
class WallClock:
    """zero: wall clock time of session second 0 (aware where the session file gives a zone); spread_s: how far anchors differ."""

    zero: datetime
    spread_s: float
    anchors: int

    def at(self, session_s: float) -> datetime:
        return self.zero + timedelta(seconds=session_s)


def wall_clock(review: Review) -> WallClock | None:
    """Session time on the wall: hacks first (a person gave the instant), then the recordings' stamps. None without either."""
    stamps = [(clock.start - timedelta(seconds=clock.offset_s), clock.start_uncertainty_s or 0.0)
              for clock in review.clocks.values() if clock.start is not None]
    best = min(stamps, key=lambda stamp: stamp[1], default=None)
    hacks = [zero for _, zero in _hack_zeros(review, best[0] if best else None)]
    zeros = hacks or ([best[0]] if best else [])
    if not zeros:
        return None
    first = zeros[0]
    shifts = [(zero - first).total_seconds() for zero in zeros]
    middle = first + timedelta(seconds=median(shifts))
    return WallClock(middle, max(shifts) - min(shifts), len(zeros))


def _hack_zeros(review: Review, near: datetime | None) -> list[tuple[int, datetime]]:
    """For each time hack: session second 0 on the wall clock; the day is the recording's, or day one where none is known."""
    found = []
    for position, row in review.of("time_hacks"):
        at_s, get = moment(row, review.talk), str(row.get("get") or "")
        parts = [int(part) for part in get.split(":")] if get.replace(":", "").isdigit() else []
        if at_s is None or len(parts) != 3 or parts[0] > 23:
            continue
        day = near.replace(hour=0, minute=0, second=0, microsecond=0) if near else datetime(1, 1, 2)  # noqa: DTZ001
        zero = day + timedelta(hours=parts[0], minutes=parts[1], seconds=parts[2] - at_s)
        found.append((position, zero))
    return found


def hacks(review: Review) -> Findings:
    """Time hacks against the recordings' stamps, and other clock times against the wall clock that hacks and stamps give."""
    wall = wall_clock(review)
    if wall is None:
        return Findings()
    results = []
    for name, clock in review.clocks.items():
        if clock.start is not None and wall.zero.tzinfo is not None:
            off = (clock.start - wall.at(clock.offset_s)).total_seconds()
            allowed = HACK_TOLERANCE_S + (clock.start_uncertainty_s or 0.0)
            hack = next((position for position, _ in review.of("time_hacks")), None)
            if hack is not None and abs(off) > allowed:
                results.append(noted(review, hack, "wall clock", f"the stamp of recording {name} is {off:+.1f} s from the time hack"))
    for position, row in review.of("times"):
        residual = _clock_time_residual(row, review, wall)
        if residual is not None and TOLERANCE_S + WHOLE_MINUTE_TOLERANCE_S < abs(residual) < 1800:
            results.append(noted(review, position, "wall clock", f"{row.get('text')}: {residual:+.0f} s from the wall clock"))
    return Findings({}, (), results)


def _clock_time_residual(row: Row, review: Review, wall: WallClock) -> float | None:
    at_s, get = moment(row, review.talk), str(row.get("get") or "")
    parts = [int(part) for part in get.split(":")] if get.replace(":", "").isdigit() else []
    if row.get("kind") != "clock" or at_s is None or len(parts) != 3 or parts[0] > 23:
        return None
    true = wall.at(at_s)
    said = true.replace(hour=parts[0], minute=parts[1], second=parts[2], microsecond=0)
    residual = (said - true).total_seconds()
    return residual if parts[2] or abs(residual) > 60 else max(-1.0, min(1.0, residual))


def drift(review: Review) -> Findings:
    """Each recording's offset and rate against the spoken clocks, from its own calls (median, and the median of all slopes)."""
    runs = clock_runs(review.rows, review.talk)
    held = held_calls(review, runs)
    if not keeps_time(held):
        return Findings()
    by_recording: dict[str, list[Held]] = defaultdict(list)
    for one in held:
        source = review.rows[one.position].place.source
        if source is not None and not one.order and not one.limit and abs(one.residual_s) < 30:
            by_recording[source.recording].append(one)
    results = [noted(review, calls[0].position, "recording clocks", _drift_says(name, calls))
               for name, calls in by_recording.items() if len(calls) >= MIN_CALLS]
    return Findings({}, (), results)


def offset_and_drift(calls: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """(median offset in s, slope in s per hour) of residuals over session seconds; Theil and Sen's estimator, over at
    most MOST_CALLS calls evenly taken."""
    some = calls[:: len(calls) // MOST_CALLS + 1]
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(some, 2) if abs(b[0] - a[0]) > 30]
    return median(value for _, value in calls), 3600 * median(slopes) if slopes else 0.0


def _drift_says(name: str, calls: Sequence[Held]) -> str:
    offset, slope = offset_and_drift([(one.at_s, one.residual_s) for one in calls])
    return f"recording {name}: spoken clocks differ by {offset:+.1f} s, drift {slope:+.1f} s an hour, from {len(calls)} calls"


CLOCK_CHECKS = (
    Check("clocks", "clock calls and clock events", "each call's residual, and the calls that are wrong or late", clocks),
    Check("clock limits", "clock events and planned limits", "clocks that ran past their limit", limits),
    Check("wall clock", "time hacks, clock times, recording stamps", "clock times that do not fit the wall clock", hacks),
    Check("recording clocks", "clock calls", "offset and drift of each recording", drift),
)

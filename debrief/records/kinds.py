"""The kinds of rows: their tables, titles and columns, in order.

A column's type says how tables and editors treat it: number (exact decimal), text, flag, seconds, line, map.
"""
from dataclasses import dataclass
from typing import Literal

ColumnType = Literal["number", "text", "flag", "seconds", "map"]


@dataclass(frozen=True, slots=True)
class Column:
    name: str
    type: ColumnType = "text"


@dataclass(frozen=True, slots=True)
class Kind:
    """table: file name of its table; title: what a person reads; says: one line about it."""

    table: str
    title: str
    says: str
    columns: tuple[Column, ...]


def _columns(text: str) -> tuple[Column, ...]:
    return tuple(Column(*item.split(":")) for item in text.split())  # type: ignore[arg-type]


_ALL = (
    Kind("readouts", "Readouts", "a spoken instrument value",
         _columns("parameter value:number value_high:number value_text unit subject class approximate:flag"
                  " past:flag superseded:flag")),
    Kind("qualitative", "States", "something told in words of a system or person", _columns("parameter state subject")),
    Kind("polls", "Poll answers", "what a station answered in a poll",
         _columns("station answer question reason condition given_by late:flag decision:flag")),
    Kind("readbacks", "Read-backs", "one party says a value or instruction again",
         _columns("said_line:number readback_line:number said_s:seconds readback_s:seconds item said"
                  " readback match:flag corrected:flag verdict")),
    Kind("events", "Events", "anomalies, open items, steps, say-agains, comm checks and losses, corrections",
         _columns("kind what")),
    Kind("times", "Times", "a spoken time", _columns("kind seconds:number seconds_high:number get text")),
    Kind("ratings", "Ratings", "a judgement on a declared scale",
         _columns("axis value:number value_alt:number scale subject condition:map hedge:flag superseded:flag judgement")),
    Kind("clock_calls", "Clock calls", "a spoken time on a named clock",
         _columns("clock offset_s:number remaining_s:number mark:flag verdict residual_s:number text")),
    Kind("steps", "Steps", "a planned step begun, done, left out, done again", _columns("card step event")),
    Kind("open_items", "Open items", "a question, request or promise that outlives its turn",
         _columns("what owner closed_line:number closed_s:seconds")),
    Kind("anomalies", "Anomalies", "something not as it should be, as said",
         _columns("what location resolved_line:number resolved_s:seconds")),
    Kind("coverage", "Planned and not said", "planned, and never said or not simply done",
         _columns("card item what subject condition:map state")),
    Kind("clock_events", "Clock events", "a clock starts, holds, goes on, is reset or recycled",
         _columns("clock event reading_s:number")),
    Kind("time_hacks", "Time hacks", "a wall clock time given on the instant", _columns("get seconds:number zone")),
    Kind("stop_calls", "Stop calls", "somebody stops what is going on",
         _columns("what reason released_line:number released_s:seconds")),
    Kind("identifiers", "Identifiers", "a number that is a name, zeros kept", _columns("what value")),
    Kind("decisions", "Decisions", "a deviation accepted, a thing decided", _columns("what")),
    Kind("remarks", "Remarks", "the words behind a rating", _columns("about text subject")),
    Kind("comparisons", "Comparisons", "a difference to an earlier run",
         _columns("parameter difference:number unit direction reference")),
    Kind("exceedances", "Exceedances", "a value spoken beyond its limit",
         _columns("parameter value:number unit limit:number bound")),
)
KINDS: dict[str, Kind] = {kind.table: kind for kind in _ALL}

WORDS: dict[str, tuple[str, ...]] = {
    "readouts.class": ("measured", "target", "plan", "limit", "forecast"),
    "polls.answer": ("GO", "NO-GO", "STAND BY", "none"),
    "readbacks.verdict": ("right", "partial", "wrong", "wrong, then corrected by"),
    "events.kind": ("step_start", "step_complete", "anomaly", "open_item", "comm_check", "comm_loss", "say_again", "correction"),
    "times.kind": ("mark", "clock", "event_time", "countdown", "elapsed", "duration"),
    "clock_calls.verdict": ("right", "wrong", "late", "order"),
    "steps.event": ("start", "complete", "repeat", "skipped"),
    "coverage.item": ("step", "rating", "readout"),
    "coverage.state": ("not asked", "asked, no answer", "declined", "skipped by order", "called off", "given later", "possibly said, not read"),
    "clock_events.event": ("start", "hold", "release", "reset", "recycle"),
    "comparisons.direction": ("higher", "lower"),
    "exceedances.bound": ("min", "max"),
}
"""The only words that these columns hold ('corrected by' is followed by a station)."""

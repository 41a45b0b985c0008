"""What every column of every table holds: its type, its unit and one line about it.

A table begins with the columns by which a row is placed, then the columns of its kind (records/kinds.py), then how sure it is; after
these stand the same columns for every kind. `origins` and `certainties` speak of single fields, as 'value=spoken; unit=assumed'.
"""
from dataclasses import dataclass
from typing import Literal

from ..records.kinds import KINDS

CellType = Literal["number", "text", "flag", "seconds", "map", "whole", "instant"]


@dataclass(frozen=True, slots=True)
class TableColumn:
    """unit: of the numbers in it, '' where another column says it or none applies."""

    name: str
    type: CellType
    says: str
    unit: str = ""


BEFORE = (
    TableColumn("line_index", "whole", "line of the transcript, counted from 0; empty for rows made from sound"),
    TableColumn("start_s", "seconds", "start of the row's place, on the first recording's clock", "s"),
    TableColumn("loop", "text", "the loop it was said on"),
)
CERTAINTY = TableColumn("certainty", "text", "the lowest of its fields: heard by a person, repeated, clear, doubtful")
AFTER = (
    TableColumn("row", "whole", "the row's short number, permanent and never reused"),
    TableColumn("said_by", "text", "the station that said it"),
    TableColumn("end_s", "seconds", "end of the row's place, on the first recording's clock", "s"),
    TableColumn("session_time", "text", "start_s as h:mm:ss"),
    TableColumn("utc", "instant", "wall clock time of start_s in UTC, where the recording's start is known"),
    TableColumn("utc_uncertainty_s", "seconds", "half-width of the uncertainty of utc", "s"),
    TableColumn("evidence", "text", "the words behind it, as heard, by role"),
    TableColumn("why", "text", "grounds for what it says and for its certainty"),
    TableColumn("look", "text", "why a person should look at it, apart from how sure the hearing is"),
    TableColumn("origins", "map", "where each field comes from: spoken, carried, plan, assumed, person"),
    TableColumn("certainties", "map", "how sure each field is"),
    TableColumn("recording", "text", "the recording it was heard in"),
    TableColumn("channel", "whole", "channel of that recording, counted from 0"),
)

_SAYS = {
    "parameter": "what was read out", "value_high": "upper end of a range",
    "value_text": "a value that cannot be one number, as said", "unit": "unit of the value; origins tells whether it was spoken",
    "subject": "the system, vehicle or person it is about; of a rating, who rates",
    "class": "measured, target, plan, limit or forecast", "approximate": "about, nearly", "past": "no longer true when said",
    "superseded": "corrected later", "state": "as told; of a thing planned, what became of it", "station": "who answered",
    "answer": "GO, NO-GO, STAND BY; none: asked and not answered", "question": "what was asked", "reason": "as given",
    "condition": "what held, as name=value", "given_by": "who answered for the station", "late": "after the decision",
    "decision": "this answer closes the poll", "item": "what it is about", "said": "what was said", "readback": "what was read back",
    "match": "whether both mean the same", "corrected": "put right afterwards", "verdict": "what the check found", "kind": "what sort",
    "what": "what it is about", "get": "a clock time, h:mm:ss", "text": "as said", "axis": "what was rated",
    "value_alt": "a second value that was left open", "scale": "the scale it is given on", "hedge": "said with a reserve",
    "judgement": "absolute, relative to a run or person, or supposed", "clock": "the clock it is told in", "mark": "the instant itself",
    "card": "card of the plan", "step": "step of the card", "event": "what happened to it", "owner": "who has it in the end",
    "location": "where, as given", "zone": "time zone as said", "about": "the axis it is about", "difference": "negative for lower",
    "direction": "higher or lower", "reference": "what it is compared with", "limit": "the limit", "bound": "min or max",
    "value": "the number or name, exactly as said", "seconds": "length or offset", "seconds_high": "upper end of a range",
    "said_line": "line where it was said", "readback_line": "line where it was read back", "said_s": "when it was said",
    "readback_s": "when it was read back", "offset_s": "time since the clock's start", "remaining_s": "time left",
    "residual_s": "spoken time less the clock's", "closed_line": "line where it was closed", "closed_s": "when it was closed",
    "resolved_line": "line where it was resolved", "resolved_s": "when it was resolved", "released_line": "line of the release",
    "released_s": "when it was released", "reading_s": "what the clock read",
}


def columns_of(table: str) -> tuple[TableColumn, ...]:
    """All columns of a kind's table, in order."""
    own = tuple(_own(column.name, column.type) for column in KINDS[table].columns)
    return (*BEFORE, *own, CERTAINTY, *AFTER)


def _own(name: str, kind: CellType) -> TableColumn:
    in_seconds = name.endswith("_s") or name.startswith("seconds")
    return TableColumn(name, kind, _SAYS.get(name, name.replace("_", " ")), "s" if in_seconds else "")

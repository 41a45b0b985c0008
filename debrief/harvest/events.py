"""The table of events: what other tables tell, in one list, and the plain ones: say-agains, comm checks and losses, corrections."""
import re
from collections.abc import Sequence

from ..records.rows import Field, Row
from ..records.talk import Turn
from .talk import Talk, part

_PLAIN: tuple[tuple[str, str], ...] = (
    ("say_again", r"\b(say again|say that again|repeat (that|your last|please)|come again|didn't (copy|understand|catch)|what was that|you were garbled)\b"),
    ("comm_check", r"\b(comms? check|radio check|how (do|are) you (read|hear|receive|copy)|how me\b|how now\b|do you (still )?(read|receive|hear me|copy)\b(?! (that|it|the))|"
                   r"how do you hear|are you (with us|receiving)|can you (read|hear) me|come in,? please|hear me\b)"),
    ("comm_loss", r"\b(in the blind|lost (comm|contact|signal)|not reading (you|your|the)|have not read|can't read you|no joy on|nothing (heard )?from|LOS,|"
                  r"you('re| are) (fading|breaking)|T/M LOS|signal lost)\b"),
    ("correction", r"\b(correction|make that|i mean\b|sorry,? (that|i|it)|negative,|scratch that|excuse me)\b"),
)
_COMPILED = tuple((kind, re.compile(pattern, re.IGNORECASE)) for kind, pattern in _PLAIN)
_STEP_EVENTS = {"start": "step_start", "complete": "step_complete"}


def events(talk: Talk, rows: Sequence[Row]) -> list[Row]:
    """Rows of the table events, from the rows of steps, anomalies and open items, and from the words of each turn."""
    made = [row for row in map(_retold, rows) if row is not None]
    for turn in talk.operational():
        made += _plain(turn)
    return made


def _retold(row: Row) -> Row | None:
    kind = {"anomalies": "anomaly", "open_items": "open_item"}.get(row.kind) or (
        _STEP_EVENTS.get(str(row.get("event"))) if row.kind == "steps" else None)
    if kind is None:
        return None
    what = row.get("what") or f"step {row.get('step')}"
    return Row("events", {"kind": Field(kind, "carried"), "what": Field(what, "carried")}, row.evidence[:1], row.loop, row.station, row.turn)


def _plain(turn: Turn) -> list[Row]:
    found = []
    for kind, pattern in _COMPILED:
        match = pattern.search(turn.text)
        if match and not (kind == "say_again" and re.search(r"\bi say again\b", turn.text.lower())):
            where = part(turn, "text")
            found.append(Row("events", {"kind": Field(kind, "spoken"), "what": Field(match.group(), part=0)}, (where,), turn.loop, turn.station,
                             turn.index))
    return found

"""The table of events: what other tables tell, in one list, and the plain ones: say-agains, comm checks and losses, corrections.

Where no plan names steps, what is called and what is reported done make the step events of the talk.
"""
import re
from collections.abc import Iterator, Sequence

from ..records.rows import Field, Part, Row
from ..records.talk import Turn
from .talk import Talk, part
from .unplanned import step_events

_PLAIN: tuple[tuple[str, str], ...] = (
    ("say_again", (r"\b(say again|say that again|repeat (that|your last|please)|come again|didn't (copy|understand|catch)|"
                  r"you were garbled)\b")),
    ("comm_check", (r"\b(comms? check|radio check|how (do|are) you (still )?(read|hear|receive|copy)\w*|how me\b|how now\b|are you with us|"
                    r"do you (still )?(read|receive|hear me|copy)\b(?! (that|it|the|my))|can you (read|hear) me|come in,? please|"
                    r"you (on|there)\?)")),
    ("comm_loss", (r"\b(in the blind|lost (comms?|contact|signal)|not reading (you|your|the)|have not read|can't read you|"
                   r"(nothing|not) heard\b|no (answer|reply|contact|joy) (from|on)|T/M LOS|signal lost|you('re| are) (fading|breaking))")),
    ("correction", (r"(\bcorrection\b|(?<!\bI )\bmake (that|it) (a|an|\w+ (degrees|percent|metres|feet))\b|\bsorry,? (that's|it's|make)|"
                    r"\bscratch that|"
                    r"\bexcuse me\b|^\W*negative[,.] (it|it's|your|the|that's|that is) |[.,] no, (it's )?(zero|one|two|three|four|five|"
                    r"six|seven|eight|"
                    r"nine|ten|\d+)\b|\byou mean\?)")),
)
_COMPILED = tuple((kind, re.compile(pattern, re.IGNORECASE)) for kind, pattern in _PLAIN)
_STEP_EVENTS = {"start": "step_start", "complete": "step_complete", "repeat": "step_start"}


def events(talk: Talk, rows: Sequence[Row]) -> list[Row]:
    """Rows of the table events: one of a kind for each turn at most, retold ones first."""
    made: dict[tuple[str, int | None, object], Row] = {}
    for row in (*_retold(rows), *_plain(talk), *(step_events(talk) if not talk.session.cards else ())):
        kind = str(row.get("kind"))
        steps = row.get("what") if kind.startswith("step_") else ""
        made.setdefault((kind, row.turn, steps), row)
    return list(made.values())


def _retold(rows: Sequence[Row]) -> Iterator[Row]:
    for row in rows:
        kind = {"anomalies": "anomaly", "open_items": "open_item"}.get(row.kind) or (
            _STEP_EVENTS.get(str(row.get("event"))) if row.kind == "steps" else None)
        if kind is not None:
            what = row.get("what") or f"step {row.get('step')}"
            fields = {"kind": Field(kind, "carried"), "what": Field(what, "carried")}
            yield Row("events", fields, row.evidence[:1], row.loop, row.station, row.turn)
        if row.kind == "readbacks":
            yield from (_correction(row, item) for item in row.evidence if item.role == "correction")


def _correction(row: Row, where: Part) -> Row:
    """A read-back put right: an event where it is put right."""
    fields = {"kind": Field("correction", "carried"), "what": Field(f"read-back {row.get('readback')}, said {row.get('said')}", "carried")}
    return Row("events", fields, (where,), row.loop, None, None)


def _plain(talk: Talk) -> Iterator[Row]:
    for turn in talk.operational():
        for kind, pattern in _COMPILED:
            match = pattern.search(turn.text)
            if match and not (kind == "say_again" and re.search(r"\bi say again\b", turn.text.lower())):
                yield _row(turn, kind, match.group())


def _row(turn: Turn, kind: str, what: str) -> Row:
    fields = {"kind": Field(kind, "spoken"), "what": Field(what.strip(" .,"), part=0)}
    return Row("events", fields, (part(turn, "text"),), turn.loop, turn.station, turn.index)

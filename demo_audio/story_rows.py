"""What is said in the demo, by whom, on which loop and when, and the rows that a careful listener would write.

A text is cut into phrases at ' / '; a phrase with '*' begins exactly at the line's `at` (session seconds, the clock of file A). Without
`at` a line begins `gap` seconds after the line before it has ended. Loops: L = Line, C = Cabin (file A), V = Valley (file B).
A field that begins with '@' is replaced by the start of the line with that key. Everything is invented.
"""

from dataclasses import dataclass, field
from typing import Any

Row = tuple[str, dict[str, Any]]


@dataclass(frozen=True)
class Line:
    who: str
    loops: str
    text: str
    at: float | None = None
    gap: float = 0.9
    key: str = ""
    rows: list[Row] = field(default_factory=list)


def reading(parameter: str, value: str, unit: str, subject: str = "", **more: Any) -> Row:
    return "readouts", {"parameter": parameter, "value": value, "unit": unit, "subject": subject, "class": "measured", **more}


def rating(axis: str, value: str, scale: str, subject: str, card: str, **more: Any) -> Row:
    return "ratings", {
        "axis": axis,
        "value": value,
        "scale": scale,
        "subject": subject,
        "condition": {"card": card},
        "hedge": False,
        "superseded": False,
        **more,
    }


def poll(station: str, answer: str, **more: Any) -> Row:
    return "polls", {"station": station, "answer": answer, "question": "loaded run", **more}


def pair(first: str, item: str, match: bool = True, **more: Any) -> Row:
    return "readbacks", {"said_s": f"@{first}", "item": item, "match": match, "corrected": False, **more}


def clock(name: str, **more: Any) -> Row:
    return "clock_calls", {"clock": name, "verdict": "right", **more}


def step(card: str, name: str, event: str) -> Row:
    return "steps", {"card": card, "step": name, "event": event}


def state(parameter: str, words: str, subject: str) -> Row:
    return "qualitative", {"parameter": parameter, "state": words, "subject": subject}


def event(kind: str) -> Row:
    return "events", {"kind": kind}


def turn_of_clock(name: str, what: str, reading_s: float) -> Row:
    return "clock_events", {"clock": name, "event": what, "reading_s": reading_s}


def covered(card: str, item: str, what: str, given: str, subject: str = "") -> Row:
    return "coverage", {"card": card, "item": item, "what": what, "subject": subject, "state": given}

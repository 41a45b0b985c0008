"""Steps of a checklist that no plan names: an action called or under way, and one reported done.

Common practice, no source: checklist lines are called as a thing and its setting ('pump, on') and answered by the setting as a state
('mine's on', 'the valve is closed'); actions are told as they begin ('going to manual') and when they end ('exercise completed').
"""
import re
from collections.abc import Iterator

from ..records.rows import Field, Row
from ..records.talk import Turn
from .talk import Talk, part
from .view import views

_SETTING = r"(on|off|open|closed|shut|min|max|auto|normal|armed|in|out)"
_DONE = re.compile(
    r"\b(complete|completed|verified|jettisoned|fired)\b|"
    rf"\b\w+('s| is| are)( now)? {_SETTING}\b(?! (the|your|my|a|here|there|at|board|time|line|schedule|it|to|[a-z]+ing))|"
    r"\b(clock|watch|watches|timer|engine|motor|pump)( is|'s| are)? (started|running)\b|^(okay[,.] )?in [a-z]+\.?$|\bi got it on\b|"
    r"\bi've got the \w+ out\b",
    re.IGNORECASE)
_BEGINS = re.compile(
    r"^(\W*(okay|roger|all right|right|now|this is [\w ]+|and|yes)\W+)*((i'm|we're|i am|we are|and we're) )?((just |now )?going (to|"
    r"back)(?! (be|have|try|need|get))|starting|"
    r"making|turning|opening|closing|sending|running through|beginning|repeating|taking (off|the)) |"
    r"\b(will|would) you (please )?(turn|put|open|close|switch|set|select|go)\b|\bturn your\b|\bhere (it comes|we go)\b|"
    r"\bmark\b.*\b(check|test|report)\b|"
    r"\btime to (open|close|unlock|start|vent|turn)\b|\bcheck\b.*\bis next\b|\bi'm going to (take|open|close|turn|give)\b",
    re.IGNORECASE)
_CALLED = re.compile(r"\b[A-Z][A-Z0-9]{2,}\b.*\b(ON|OFF|OPEN|CLOSED|MIN|MAX|AUTO|EGRESS|NORMAL)\b")
LONGEST = 30


def step_events(talk: Talk) -> Iterator[Row]:
    """Step events of each turn: at most one begun and one done; status reports of many settings are no steps."""
    seen = views(talk)
    before: Turn | None = None
    for turn in talk.operational():
        yield from _events(turn, seen[turn.index].sentences, before)
        before = turn


def _events(turn: Turn, sentences: tuple[tuple[int, int], ...], before: Turn | None) -> Iterator[Row]:
    told: set[str] = set()
    if len(turn.tokens) > LONGEST * 2:
        return
    for start, end in sentences:
        text = " ".join(token.text for token in turn.tokens[start:end])
        kind = _kind(text, before, turn) if end - start <= LONGEST and "?" not in text or re.search(r"\b(will|would) you\b", text) else None
        if kind is not None and kind not in told:
            told.add(kind)
            fields = {"kind": Field(kind, "spoken"), "what": Field(text.rstrip(".,!"), part=0)}
            yield Row("events", fields, (part(turn, "text", start, end),), turn.loop, turn.station, turn.index)


def _kind(text: str, before: Turn | None, turn: Turn) -> str | None:
    """'step_start' or 'step_complete', or None."""
    if _CALLED.search(text):
        said = set(re.findall(r"\b[A-Z][A-Z0-9]{2,}\b", text))
        answers = before is not None and before.station != turn.station and said & set(re.findall(r"\b[A-Z][A-Z0-9]{2,}\b", before.text))
        return "step_complete" if answers else "step_start"
    if _BEGINS.search(text):
        return "step_start"
    return "step_complete" if _DONE.search(text) and not re.search(r"\b(not|if|when|until|before)\b", text, re.IGNORECASE) else None

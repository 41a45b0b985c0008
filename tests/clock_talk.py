"""Invented talk for tests of times and clocks: a smoke-door trial in a tunnel, lines as (second, station, words)."""
from collections.abc import Sequence

from debrief.harvest.clock_calls import clock_calls
from debrief.harvest.clock_events import clock_events
from debrief.harvest.talk import Talk
from debrief.harvest.time_hacks import time_hacks
from debrief.harvest.times import times
from debrief.records.rows import Row
from debrief.records.talk import Token, Turn
from debrief.session import Session
from debrief.timebase import Span

PLAN = Session.model_validate({"recordings": ["tunnel.wav"], "clocks": [
    {"name": "smoke clock", "starts": "doors shut"}, {"name": "fan count", "counts": "down", "from_s": 300},
    {"name": "air clock", "starts": "mask on", "limit_min": 2}]})
SECONDS_A_WORD = 0.4


def talk_of(*lines: tuple[float, str, str], plan: Session = PLAN) -> Talk:
    """Turns with word times: each word SECONDS_A_WORD after the one before."""
    turns = []
    for index, (start_s, station, words) in enumerate(lines):
        spans = [Span.of_seconds(start_s + SECONDS_A_WORD * i, start_s + SECONDS_A_WORD * (i + 1)) for i in range(len(words.split()))]
        tokens = tuple(Token(word, word, f"s{index}", i, span) for i, (word, span) in enumerate(zip(words.split(), spans, strict=True)))
        turns.append(Turn(index, tokens, station, start_s=start_s, end_s=spans[-1].end_s, line_index=index, span=spans[0].hull(spans[-1])))
    return Talk(turns, plan)


def clock_rows(talk: Talk) -> list[Row]:
    return [row for extract in (clock_calls, times, clock_events, time_hacks) for row in extract(talk)]


def told(rows: Sequence[Row], kind: str, *fields: str) -> list[tuple[object, ...]]:
    """The named fields of all rows of a kind, in order."""
    return [tuple(row.get(name) for name in fields) for row in rows if row.kind == kind]

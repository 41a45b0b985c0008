"""Segments to turns: who speaks, to whom, and where one stretch of speech ends.

Saved transcripts with speakers: a turn a line. Recognised sound: words are joined across segments and cut at pauses.
"""
from collections.abc import Mapping, Sequence
from itertools import pairwise

from ..records.sound import Segment, Source
from ..records.talk import Token, Turn
from ..session import Session
from ..timebase import RecordingClock, Span

PAUSE_S = 0.6


def cut_turns(segments: Sequence[Segment], tokens: Mapping[str, Sequence[Token]], session: Session,
              clocks: Mapping[str, RecordingClock] | None = None) -> tuple[Turn, ...]:
    """Turns of all used segments, in session time. tokens: each segment's words as read (from wording), by segment id."""
    clocks = clocks or {}
    pieces = [(segment, run) for segment in segments if not segment.set_aside
              for run in _runs(segment, tokens.get(segment.segment, ()))]
    turns = [_turn(segment, run, session, clocks) for segment, run in pieces]
    if all(turn["start_s"] is not None for turn in turns):
        turns.sort(key=lambda turn: turn["start_s"])
    return tuple(Turn(index=index, **turn) for index, turn in enumerate(turns))


def _runs(segment: Segment, tokens: Sequence[Token]) -> list[Sequence[Token]]:
    if segment.speaker is not None or not all(token.span for token in tokens):
        return [tokens] if tokens else []
    cuts = [i + 1 for i, (a, b) in enumerate(pairwise(tokens))
            if a.span and b.span and b.span.start_s - a.span.end_s > PAUSE_S]
    return [tokens[a:b] for a, b in pairwise([0, *cuts, len(tokens)]) if tokens[a:b]]


def _turn(segment: Segment, run: Sequence[Token], session: Session, clocks: Mapping[str, RecordingClock]) -> dict:
    spans = [token.span for token in run if token.span]
    span: Span | None = spans[0].hull(spans[-1]) if spans else segment.span
    source: Source | None = segment.source
    clock = clocks.get(source.recording if source else "", RecordingClock())
    station = session.station(segment.speaker)
    return {
        "tokens": tuple(run), "station": station.name if station else segment.speaker, "loop": segment.loop,
        "start_s": clock.to_session_s(span.start_s) if span else None,
        "end_s": clock.to_session_s(span.end_s) if span else None,
        "line_index": segment.line_index, "source": source, "span": span,
        "commentary": bool(station and station.commentary),
        "attribution": ("named in the transcript",) if segment.speaker else (),
    }

"""Segments to turns: who speaks, to whom, on which loop, and where one stretch of speech ends.

Saved transcripts with speakers: a turn a line. Recognised sound: words are joined across segments and cut again.
"""
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from ..records.sound import Segment, Source
from ..records.talk import Token, Turn
from ..session import Session
from ..timebase import RecordingClock
from .attribution import NAMED, attribute
from .callsigns import Call, CallBook, read_call
from .commentary import close_commentary, mark_commentary
from .copies import set_copies_aside
from .cutting import Spoken, cut_channel, spoken_words
from .joining import runs_of_one_station


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of tokens of one speaker, before it is placed: the segment it begins in, and its voice where known."""

    segment: Segment
    tokens: tuple[Token, ...]
    voice: str | None = None


def cut_turns(segments: Sequence[Segment], tokens: Mapping[str, Sequence[Token]], session: Session,
              clocks: Mapping[str, RecordingClock] | None = None) -> tuple[Turn, ...]:
    """Turns of all used segments, in session time. tokens: each segment's words as read (from wording), by segment id."""
    planned = CallBook.of(session)
    book = planned.learning(tokens.values())
    pieces = _pieces([segment for segment in segments if not segment.set_aside], tokens, book)
    names = _Names(session, planned, book, clocks or {})
    placed = _in_order([(_turn(piece, session, names.clocks), piece) for piece in pieces])
    turns, calls = _told([turn for turn, _ in placed], [piece for _, piece in placed], names)
    runs = runs_of_one_station(turns, calls)
    if len(runs) < len(turns):
        joined = [_join([placed[i][1] for i in run]) for run in runs]
        turns, _ = _told([_turn(piece, session, names.clocks) for piece in joined], joined, names)
    return tuple(_on_loop(turn, session) for turn in turns)


@dataclass(frozen=True, slots=True)
class _Names:
    """What is known of names and clocks: planned: the calls of the session file; book: with what was learned of how they are heard."""

    session: Session
    planned: CallBook
    book: CallBook
    clocks: Mapping[str, RecordingClock]


def _told(placed: Sequence[Turn], pieces: Sequence[_Piece], names: _Names) -> tuple[list[Turn], list[Call]]:
    """Turns in session time with copies and commentary set apart, speakers and addressees told; and the call that each begins with."""
    turns = [replace(turn, index=index) for index, turn in enumerate(placed)]
    calls = [read_call(turn.tokens, names.book) for turn in turns]
    sure = calls if names.book is names.planned else [read_call(turn.tokens, names.planned) for turn in turns]
    turns = set_copies_aside(turns, sure, names.session, names.clocks)
    named = frozenset(i for i, call in enumerate(calls) if call.by or call.to or call.first)
    turns = mark_commentary(turns, names.session, named)
    told = attribute(turns, calls, [piece.voice for piece in pieces], (names.session, names.book))
    return close_commentary(told, names.session, named), calls


def _join(pieces: Sequence[_Piece]) -> _Piece:
    """One piece of several; its voice is that of most of its words."""
    voices = [piece.voice for piece in pieces for _ in piece.tokens]
    return _Piece(pieces[0].segment, tuple(token for piece in pieces for token in piece.tokens), _commonest(voices))


def _commonest(voices: Iterable[str | None]) -> str | None:
    """The voice of most words; None where no word has one."""
    counts = Counter(voice for voice in voices if voice)
    return counts.most_common(1)[0][0] if counts else None


def _pieces(segments: Sequence[Segment], tokens: Mapping[str, Sequence[Token]], book: CallBook) -> list[_Piece]:
    """Lines with a speaker, or without times for their words, as they are; other words cut anew channel by channel."""
    whole: list[_Piece] = []
    channels: dict[Source | None, list[Spoken]] = defaultdict(list)
    for segment in segments:
        given = tuple(tokens.get(segment.segment, ()))
        if segment.speaker is not None or not all(token.span for token in given):
            whole += [_Piece(segment, given, segment.voice)] if given else []
        else:
            channels[segment.source] += spoken_words(segment, given)
    return whole + [_piece(run) for words in channels.values() for run in cut_channel(words, book)]


def _piece(run: Sequence[Spoken]) -> _Piece:
    return _Piece(run[0].segment, tuple(word.token for word in run), _commonest(word.segment.voice for word in run))


def _in_order(placed: list[tuple[Turn, _Piece]]) -> list[tuple[Turn, _Piece]]:
    """By session time where every turn has one, else as given."""
    if any(turn.start_s is None for turn, _ in placed):
        return placed
    return sorted(placed, key=lambda item: item[0].start_s or 0.0)


def _turn(piece: _Piece, session: Session, clocks: Mapping[str, RecordingClock]) -> Turn:
    segment = piece.segment
    spans = [token.span for token in piece.tokens if token.span]
    span = spans[0].hull(spans[-1]) if spans else segment.span
    clock = clocks.get(segment.source.recording if segment.source else "", RecordingClock())
    station = session.station(segment.speaker)
    return Turn(
        0, piece.tokens, station.name if station else segment.speaker, None, segment.loop,
        clock.to_session_s(span.start_s) if span else None, clock.to_session_s(span.end_s) if span else None,
        segment.line_index, segment.source, span, bool(station and station.commentary),
        (NAMED,) if segment.speaker else ())


def _on_loop(turn: Turn, session: Session) -> Turn:
    """The loop of the channel; the only loop of the station, if it is surely that station, where the channel mixes loops or hears another one."""
    station = session.station(turn.station)
    if turn.loop is not None and (NAMED in turn.attribution or station is None or not station.loops or turn.loop in station.loops):
        return turn
    if len(session.loops) == 1:
        return replace(turn, loop=session.loops[0].name)
    if station and len(station.loops) == 1 and any("name" in ground and "weak" not in ground for ground in turn.attribution):
        return replace(turn, loop=station.loops[0], attribution=(*turn.attribution, f"{station.name} is only on {station.loops[0]}"))
    return turn

"""What every sample of a channel is held as, before anything of it is heard: what the session excludes, what was erased, and what the sound says."""
from collections.abc import Mapping, Sequence

from .hearing.speech_spans import account
from .records.sound import Recording, Source, Stretch
from .session import Session, base_name
from .store.sessions import SessionStore
from .timebase import HEARING_RATE_HZ, Span

ACCOUNT = -1
"""The window under which a channel's account of speech and silence is stored."""
MOST_ACCOUNTED_S = 86_400.0
"""So many seconds of sound, of all channels together, are looked at in one reading of a file: they cost 2 MB an hour."""


def account_of(store: SessionStore, number: int, session: Session, place: tuple[Recording, Source]) -> Sequence[Stretch]:
    """What the channel's samples are held as: from the store where it was worked out already, by a run before or beside another channel."""
    recording, source = place
    if not store.window_done(number, source, ACCOUNT):
        barred = _barred(store, session, recording, source)
        if any(span.start == 0 and span.end >= recording.duration for span in barred):  # nobody listens here at all
            held: Mapping[Source, Sequence[Stretch]] = {source: (Stretch(source, Span(0, recording.duration), "excluded", "excluded on request"),)}
        else:
            beside = [] if barred else _beside(store, number, session, place)
            held = account(recording, [source.channel, *beside], excluded=barred)
        for item, stretches in held.items():
            store.save_window((number, item, ACCOUNT), (), stretches)
    return [stretch for stretch in store.stretches(number) if stretch.source == source]


def _barred(store: SessionStore, session: Session, recording: Recording, source: Source) -> list[Span]:
    return [*excluded_spans(session, recording, source.channel), *(span for place, span in store.erased() if place == source)]


def _beside(store: SessionStore, number: int, session: Session, place: tuple[Recording, Source]) -> list[int]:
    """Other channels of the file, of which nothing is barred, that the same reading can serve: as many as memory holds of its length."""
    recording, source = place
    others = [Source(recording.recording, channel) for channel in range(recording.channels) if channel != source.channel]
    left = [item.channel for item in others if not store.window_done(number, item, ACCOUNT) and not _barred(store, session, recording, item)]
    most = int(MOST_ACCOUNTED_S * HEARING_RATE_HZ)
    return left[:max(0, most // (recording.duration or most) - 1)]  # one alone where the file does not say how long it is


def excluded_spans(session: Session, recording: Recording, channel: int) -> list[Span]:
    """What of a channel the session file excludes, in samples of the recording."""
    loop = recording.loops[channel] if channel < len(recording.loops) else ""
    spans = []
    for item in session.excluded:
        named = item.recording is None or base_name(item.recording) == base_name(recording.path)
        if not named or (item.loop is not None and not _same_loop(session, item.loop, loop)):
            continue
        in_session = item.recording is None
        start = recording.clock.to_file_s(item.from_s or 0.0) if in_session else item.from_s or 0.0
        end = recording.duration / HEARING_RATE_HZ if item.to_s is None else recording.clock.to_file_s(item.to_s) if in_session else item.to_s
        if end > max(0.0, start):
            spans.append(Span.of_seconds(max(0.0, start), end))
    return spans


def _same_loop(session: Session, one: str, other: str) -> bool:
    """Do two names mean one loop? A loop goes by its name or its code."""
    known = session.loop(one)
    return one.casefold() == other.casefold() or known is not None and known == session.loop(other)

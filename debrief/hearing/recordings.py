"""The recordings a session names, opened: where they lie, which loop is on which channel, and their clocks as far as they are stated."""
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from ..errors import RecordingError
from ..records.sound import Recording
from ..session import RecordingEntry, Session, find_recording
from ..timebase import HEARING_RATE_HZ, RecordingClock, hms
from .broadcast import BroadcastStart, broadcast_start
from .heard_files import digest_of
from .recording import Probe, check_path, duration_samples, probe

_LEAST_GAP_S = 0.5
"""Stamps of whole seconds part files that follow each other closely by no more than this."""


def open_recordings(session: Session, beside: Path, folder: Path | None = None, *, digests: bool = True) -> list[Recording]:
    """Every recording of the session in its order, as r1, r2 ... Raises RecordingError for the first that cannot be used.

    beside: folder of the session file; folder: where else to look, by base name. digests: sha256 of every file (reads all of it);
    False is for quick checks. Clocks are as stated (offset, series, wall clock start); sound may refine them (copies.py).
    """
    opened: list[Recording] = []
    for number, entry in enumerate(session.recordings, start=1):
        path = find_recording(entry.file, beside, folder) or check_path(_named(entry.file, beside))
        info = probe(path)
        recording = Recording(f"r{number}", str(path.resolve()), digest_of(path) if digests else "", duration_samples(info), info.rate_hz,
                              info.channels, _loops(session, entry, info))
        placed = _with_clock(recording, entry, info, session, opened)
        opened.append(replace(placed, notes=(*placed.notes, *_gap(placed, entry, session, opened))))
    return opened


def _named(file: str, beside: Path) -> str | Path:
    # An address must reach the check as it was written, or its slashes would be folded into a path.
    return file if "://" in file else beside / file


def _loops(session: Session, entry: RecordingEntry, info: Probe) -> tuple[str, ...]:
    if entry.channels:
        if len(entry.channels) > info.channels:
            extra = entry.channels[info.channels]
            raise RecordingError(f"the session file names {len(entry.channels)} channels ({extra!r} is the first too many), "
                                 f"the file has {info.channels}", str(info.path), "name one loop a channel, in the file's order")
        return (*entry.channels, *[""] * (info.channels - len(entry.channels)))
    placed = {loop.channel: loop.name for loop in session.loops if loop.channel is not None}
    if placed and max(placed) > info.channels:
        raise RecordingError(f"loop {placed[max(placed)]!r} is said to be on channel {max(placed)}, the file has {info.channels}",
                             str(info.path), "channels are counted from 1 in the session file")
    if placed:
        return tuple(placed.get(channel + 1, "") for channel in range(info.channels))
    alone = session.loops[0].name if len(session.loops) == 1 else ""
    return (alone,) * info.channels


def _with_clock(recording: Recording, entry: RecordingEntry, info: Probe, session: Session, before: Sequence[Recording]) -> Recording:
    own = None if entry.start else broadcast_start(info)
    start = own.start if own else entry.start
    uncertainty_s = own.uncertainty_s if own and entry.start_uncertainty_s is None else entry.start_uncertainty_s
    clock = RecordingClock(entry.offset_s or 0.0, entry.rate or 1.0, start, uncertainty_s)
    recording = replace(recording, notes=_told_of(own, session, before))
    first = before[0] if before else None
    if entry.offset_s is not None or first is None:
        return replace(recording, clock=clock)
    if start is not None and first.clock.start is not None and (start.tzinfo is None) == (first.clock.start.tzinfo is None):
        return replace(recording, clock=replace(clock, offset_s=(start - first.clock.start) / timedelta(seconds=1)))
    previous = _same_series(entry, recording, session, before)
    if previous is not None:
        end_s = previous.clock.to_session_s(previous.duration / HEARING_RATE_HZ) + (entry.gap_s or 0.0)
        return replace(recording, clock=replace(clock, offset_s=end_s), notes=(*recording.notes, f"taken to follow {Path(previous.path).name}"))
    return replace(recording, clock=clock, notes=(*recording.notes, "no start time is known: taken to begin with the first recording"))


def _gap(recording: Recording, entry: RecordingEntry, session: Session, before: Sequence[Recording]) -> tuple[str, ...]:
    """The span between a recording and the one before it in its series, where nothing was recorded."""
    earlier = [opened for other, opened in zip(session.recordings, before, strict=False) if entry.series is not None and other.series == entry.series]
    ends = [end_s for item in earlier if (end_s := item.clock.to_session_s(item.duration / HEARING_RATE_HZ)) <= recording.clock.offset_s]
    begins_s = recording.clock.offset_s
    if not ends or begins_s - max(ends) < _LEAST_GAP_S:
        return ()
    return (f"nothing was recorded in series {entry.series!r} from {hms(max(ends))} to {hms(begins_s)} of the session ({begins_s - max(ends):.1f} s)",)


def _told_of(own: BroadcastStart | None, session: Session, before: Sequence[Recording]) -> tuple[str, ...]:
    """Where a start comes from that the session file does not state, and that a zone may part it from one that it does."""
    if own is None:
        return ()
    mixed = any(entry.start is not None for entry, _ in zip(session.recordings, before, strict=False))
    return (own.says, *(("other recordings have their start from the session file: check that both are in one time zone",) if mixed else ()))


def _same_series(entry: RecordingEntry, recording: Recording, session: Session, before: Sequence[Recording]) -> Recording | None:
    """The recording that this one follows: the last of its series, or else the last with the same loops."""
    earlier = list(zip(session.recordings, before, strict=False))
    if entry.series is not None:
        return next((opened for other, opened in reversed(earlier) if other.series == entry.series), None)
    if not any(recording.loops):
        return None
    return next((opened for _, opened in reversed(earlier) if opened.loops == recording.loops), None)

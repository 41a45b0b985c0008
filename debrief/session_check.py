"""What can be told before the long job: is everything there that it needs, and what will it be unable to do.

Nothing is decoded here: the caller probes the files (headers only) and the disk, and passes in what it found.
"""
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, zip_longest

from .errors import Fault
from .session_model import RecordingEntry, Session


@dataclass(frozen=True, slots=True)
class Probe:
    """What the header of one recording says, in the order of the session file. problem: why it cannot be read ('' = it can).

    stamped: it tells its own start.
    """

    channels: int = 0
    duration_s: float = 0.0
    problem: str = ""
    stamped: bool = False


@dataclass(frozen=True, slots=True)
class Surroundings:
    """needed_bytes: what a pass writes at most; model_problem, out_problem: why weights or folder cannot be used ('' = they can)."""

    free_bytes: int
    needed_bytes: int
    model_problem: str = ""
    out_problem: str = ""


def check_session(session: Session, probes: Sequence[Probe], around: Surroundings) -> list[Fault]:
    """Faults that would stop the run, then warnings. One probe a recording."""
    found = [*_unreadable(session, probes), *_channels(session, probes), *overlaps(session, probes), *_unheard_loops(session, probes),
             *_surroundings(around)]
    return sorted(found, key=lambda fault: fault.warning)


def _unreadable(session: Session, probes: Sequence[Probe]) -> Iterator[Fault]:
    if not session.recordings:
        yield Fault("names no recording", "recordings", hint='write recordings = ["loop.wav"]')
    for entry, probe in zip(session.recordings, probes, strict=True):
        if probe.problem:
            yield Fault(probe.problem, entry.file)
        elif probe.duration_s <= 0:
            yield Fault("holds no sound", entry.file, hint="is it the right file?")


def _channels(session: Session, probes: Sequence[Probe]) -> Iterator[Fault]:
    for entry, probe in zip(session.recordings, probes, strict=True):
        if probe.channels and entry.channels and len(entry.channels) != probe.channels:
            yield Fault(f"has {probe.channels} channels, the session file names {len(entry.channels)}", entry.file,
                        hint='name each channel; "" for one that carries several loops')


_MOST_DRIFT = 1e-4
"""Of a recorder against the clock that stamps its files; 50 parts in a million are usual (common practice, no source)."""


def overlaps(session: Session, probes: Sequence[Probe]) -> Iterator[Fault]:
    """Files of one series that run at the same time by their own stamps, or by the session seconds at which they are said to begin."""
    stamped: dict[tuple[str, bool], list[tuple[float, float, RecordingEntry]]] = {}
    for entry, probe in zip(session.recordings, probes, strict=True):
        begin = entry.offset_s if entry.offset_s is not None else None if entry.start is None else entry.start.timestamp()
        if entry.series and begin is not None and probe.duration_s > 0:
            end = begin + probe.duration_s / (entry.rate or 1.0)
            stamped.setdefault((entry.series, entry.offset_s is None), []).append((begin, end, entry))
    for (series, _), files in stamped.items():
        files.sort(key=lambda item: item[0])
        for (before, end, one), (begin, _, other) in pairwise(files):
            allowed = (one.start_uncertainty_s or 0.5) + (other.start_uncertainty_s or 0.5) + _MOST_DRIFT * (end - before)
            if end - begin > allowed:
                yield Fault(f"begins {end - begin:.1f} s before {one.file} of series {series!r} has ended", other.file,
                            hint="check both starts, or give them series of their own")


def _unheard_loops(session: Session, probes: Sequence[Probe]) -> Iterator[Fault]:
    heard = {name.casefold() for entry, probe in zip(session.recordings, probes, strict=True)
             for name in session.loops_of(entry, probe.channels or len(entry.channels))}
    if "" in heard:
        return
    for loop in session.loops:
        if not {loop.name.casefold(), (loop.code or loop.name).casefold()} & heard:
            yield Fault(f"no recording carries the loop {loop.name!r}", "loops", warning=True,
                        hint="name it among the channels of a recording")


def _surroundings(around: Surroundings) -> Iterator[Fault]:
    if around.model_problem:
        yield Fault(around.model_problem, "model")
    if around.out_problem:
        yield Fault(around.out_problem, "out")
    if around.free_bytes < around.needed_bytes:
        yield Fault(f"{around.free_bytes / 1e6:.0f} MB free, up to {around.needed_bytes / 1e6:.0f} MB needed", "disk",
                    hint="make room, or give another folder with --out")


def what_is_missing(session: Session, probes: Sequence[Probe] = ()) -> list[str]:
    """What the tool cannot do without the optional parts that this session file and its recordings' headers lack, in plain words."""
    absent = {
        "stations: speakers are named only where they name themselves, and commentary is not told apart": session.stations,
        "loops: no loop can be heard first, and talk on a mixed channel is not told apart":
            session.loops or any(entry.channels for entry in session.recordings),
        "cards: nothing can be told as planned and not said, and steps are known only by what is said": session.cards,
        "scales: a rating off its scale is not noticed": session.scales,
        "limits: no value can be told as beyond its limit": session.limits,
        "clocks: spoken clocks are known only by what starts them in the talk": session.clocks,
        "start of the recordings: no time of day or UTC can be told, save by a time hack": _all_stamped(session, probes),
        "commentary among the stations: talk to the public is told only by how it sounds": any(s.commentary for s in session.stations),
        "parameters tagged medical: copies for distribution leave nothing out": session.medical_names(),
    }
    return [f"without {text}" for text, given in absent.items() if not given]


def _all_stamped(session: Session, probes: Sequence[Probe]) -> bool:
    return bool(session.recordings) and all(entry.start is not None or (probe is not None and probe.stamped)
                                            for entry, probe in zip_longest(session.recordings, probes))

"""The session file, from the path a person gives to a checked Session. All faults of all its files come in one report.

A session may take stations, scales, limits and more from a campaign file that many sessions share (`campaign = "path.toml"`), and its
cards from a sheet (`cards_from = "cards.csv"`). Of two entries with the same name the session's own stands.
"""
from pathlib import Path

from .errors import Fault, SessionFileError
from .session_faults import cross_faults, shape_faults, unknown_keys
from .session_merge import gather
from .session_model import (
    Card,
    Change,
    ClockPlan,
    Excluded,
    Limit,
    Loop,
    Parameter,
    PlannedRating,
    PlannedReadout,
    PollWords,
    RecordingEntry,
    Relation,
    Scale,
    Session,
    Station,
    Step,
    base_name,
    names_of,
)

__all__ = [
    "Card", "Change", "ClockPlan", "Excluded", "Limit", "Loop", "Parameter", "PlannedRating", "PlannedReadout", "PollWords",
    "RecordingEntry", "Relation", "Scale", "Session", "Station", "Step", "base_name", "find_recording", "find_session", "load_session", "names_of",
]
SESSION_NAME = "session.toml"


def find_session(given: Path) -> Path:
    """The session file itself, or the one in the folder given. Raises SessionFileError where there is none, or a choice."""
    if given.is_file():
        return given
    if not given.is_dir():
        raise SessionFileError("no such session file or folder", str(given),
                               "give the TOML file or the folder that holds it; `debrief new` writes one")
    if (given / SESSION_NAME).is_file():
        return given / SESSION_NAME
    found = sorted(given.glob("*.toml"))
    if len(found) != 1:
        names = ", ".join(path.name for path in found)
        raise SessionFileError(f"several TOML files and none named {SESSION_NAME}: {names}" if found else "no session file in this folder",
                               str(given), "name the file itself" if found else "write one with `debrief new`")
    return found[0]


def load_session(path: Path, *, to_hear: bool = False) -> tuple[Session, list[Fault]]:
    """Read a session file (or the one in a folder); returns it and its warnings.

    to_hear: recordings must be named. Raises SessionFileError with every fault of the file, its campaign and its cards at once.
    """
    path = find_session(path)
    parts = gather(path)
    session, faults = shape_faults(parts)
    faults = [*parts.faults, *faults, *cross_faults(session, parts)]
    if to_hear and not session.recordings and not any(fault.path.startswith("recordings") for fault in faults):
        faults.append(Fault("names no recording", "recordings", hint='write recordings = ["loop.wav"]'))
    serious = [fault for fault in faults if not fault.warning]
    if serious:
        count = "a fault" if len(serious) == 1 else f"{len(serious)} faults"
        raise SessionFileError(f"the session file has {count}", str(path), "mend what is named and run again", _in_order(faults))
    return session, _in_order([*faults, *unknown_keys(session, parts)])


def _in_order(faults: list[Fault]) -> list[Fault]:
    return sorted(faults, key=lambda fault: (fault.warning, fault.line or 0))


def find_recording(file: str, beside: Path, folder: Path | None = None) -> Path | None:
    """Where a recording lies: as named, from the session file's folder; else by its base name in the folder given; else None."""
    places = [beside / file, *([folder / base_name(file)] if folder else [])]
    return next((place for place in places if place.is_file()), None)


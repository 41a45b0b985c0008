"""debrief new, check, demo: the verbs around a session file. Thin: each prints what plain functions say."""
import shutil
from pathlib import Path
from typing import Annotated

import typer

from .demo_files import demo_folder
from .errors import DebriefError, RecordingError, SessionFileError
from .hearing.broadcast import broadcast_start
from .hearing.models import find_model
from .hearing.presets import DEFAULT_MODEL
from .hearing.recording import check_path, probe
from .session import Session, find_recording, find_session, load_session
from .session_check import Probe, Surroundings, check_session, what_is_missing
from .session_template import NewRecording, new_session

BYTES_A_SECOND = 4_000
"""What a pass writes for a second of dense talk on one channel, at most: words, turns, rows and clips."""


def new_command(folder: Annotated[Path, typer.Argument(help="folder for the new session.toml", show_default=False)],
                audio: Annotated[list[Path], typer.Argument(help="recordings, in the order of time", show_default=False)]) -> None:
    """Write a commented session file for these recordings."""
    found = [NewRecording(str(path.resolve()), probe(check_path(path)).channels) for path in audio]
    typer.echo(f"{new_session(folder, found)} written; say in it who was on which loop, then run `debrief check {folder}`")


def check_command(session: Annotated[Path, typer.Argument(help="session file (TOML), or its folder", show_default=False)],
                  recordings: Annotated[Path | None, typer.Option(help="folder in which recordings are looked for by name")] = None,
                  model: Annotated[str, typer.Option(help="the model the run will use")] = DEFAULT_MODEL) -> None:
    """Name what is wrong before the long job starts; reads headers only."""
    file = find_session(session)
    loaded, warnings = load_session(file, to_hear=True)
    probes = [_probed(entry.file, file.parent, recordings) for entry in loaded.recordings]
    needed = round(sum(item.duration_s * max(1, item.channels) for item in probes) * BYTES_A_SECOND)
    around = Surroundings(shutil.disk_usage(file.parent).free, needed, _model_problem(model))
    faults = [*warnings, *check_session(loaded, probes, around)]
    if any(not fault.warning for fault in faults):
        raise SessionFileError("the run would not succeed", str(file), "mend what is named and check again", faults)
    for fault in faults:
        typer.echo(f"warning: {fault}")
    for line in what_is_missing(loaded, probes):
        typer.echo(line)
    typer.echo(f"{file}: ready; {_length(probes)} of sound")


def _probed(name: str, beside: Path, folder: Path | None) -> Probe:
    try:
        info = probe(find_recording(name, beside, folder) or check_path(name if "://" in name else beside / name))
    except RecordingError as error:
        return Probe(problem=error.what)
    return Probe(info.channels, info.duration_s or 0.0, stamped=broadcast_start(info) is not None)


def _model_problem(model: str) -> str:
    try:
        find_model(model)
    except DebriefError as error:
        return f"{error.what}; {error.todo}"
    return ""


def _length(probes: list[Probe]) -> str:
    minutes = sum(item.duration_s for item in probes) / 60
    return f"{minutes:.0f} minutes" if minutes < 120 else f"{minutes / 60:.1f} hours"


def lay_out_demo(folder: Path) -> Path:
    """A copy of the demo session in a folder, unless one lies there already; returns the session file."""
    target = folder / "demo_session"
    if not (target / "session.toml").is_file():
        shutil.copytree(demo_folder(), target, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    return target / "session.toml"


def load_demo(folder: Path) -> tuple[Session, Path]:
    """The demo session laid out in a folder, and the folder its recordings lie in."""
    file = lay_out_demo(folder)
    return load_session(file, to_hear=True)[0], file.parent

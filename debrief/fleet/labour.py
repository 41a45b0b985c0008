"""One job on one worker: it goes on where an earlier worker left off, and its result lands once, whole, under its address."""
import os
import shutil
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from ..errors import DebriefError, StoreError
from ..hearing.models import load_recogniser
from ..hearing.presets import DEFAULT_MODEL
from ..hearing.recogniser import Recogniser
from ..hearing.recordings import open_recordings
from ..pipeline import RunSettings, Watch, run
from .jobs import Job, job_key

WORK_FOLDER = ".work"
LOCKED = "the store is locked by another run"
Loader = Callable[[str, int], Recogniser]
_loaded: dict[tuple[str, int], Recogniser] = {}


@dataclass(frozen=True, slots=True)
class Settings:
    """threads: processor threads of one job, the same on every worker, since they belong to what decides the text.

    patience_s: how long a job waits for another worker that still holds its store (one that was only thought lost).
    """

    out: str
    model: str = DEFAULT_MODEL
    threads: int = 2
    questions_per_minute: float = 24.0
    patience_s: float = 600.0


@dataclass(frozen=True, slots=True)
class Done:
    """state: done, earlier (its result was there already) or failed (what says why)."""

    job: str
    state: str
    folder: str = ""
    sound_s: float = 0.0
    rows: int = 0
    what: str = ""


def load(model: str, threads: int) -> Recogniser:
    """The recogniser of a worker process, loaded once."""
    return load_recogniser(model, threads=threads)


def do_job(job: Job, settings: Settings, loader: Loader, watch: Watch) -> Done:
    """Runs a job and lands its result. What a user can mend is told as a failed job; the machine's own troubles are raised."""
    try:
        return _do(job, settings, loader, watch)
    except DebriefError as error:
        return Done(job.name, "failed", sound_s=job.sound_s, what=str(error))


def _do(job: Job, settings: Settings, loader: Loader, watch: Watch) -> Done:
    recogniser = _recogniser(settings, loader)
    decided_by = {**recogniser.settings, "questions_per_minute": str(settings.questions_per_minute)}
    key = job_key(job, open_recordings(job.session, Path(job.beside)), recogniser.digest, decided_by)
    out = Path(settings.out)
    work, final = out / WORK_FOLDER / key, out / f"{job.name}.{key[:12]}"
    patient_until = time.monotonic() + settings.patience_s
    while not final.is_dir():
        try:
            with run(job.session, Path(job.beside), work, recogniser, RunSettings(None, settings.questions_per_minute, watch)) as store:
                rows = len(store.rows())
        except StoreError as error:
            if not error.what.startswith(LOCKED) or time.monotonic() > patient_until:
                raise
            time.sleep(1.0)
            continue
        land(work, final)
        return Done(job.name, "done", str(final), job.sound_s, rows)
    return Done(job.name, "earlier", str(final), job.sound_s)


def land(work: Path, final: Path) -> None:
    """Puts a finished folder in its place at once; where another worker was quicker, its equal result stands and ours goes."""
    try:
        os.rename(work, final)
    except OSError:
        if not final.is_dir():
            raise
        shutil.rmtree(work, ignore_errors=True)
    with suppress(OSError):  # the last one out; others may still be working there
        work.parent.rmdir()


def _recogniser(settings: Settings, loader: Loader) -> Recogniser:
    asked = (settings.model, settings.threads)
    if asked not in _loaded:
        _loaded[asked] = loader(*asked)
    return _loaded[asked]

"""What a fleet works on: sessions and bare recordings found in a folder, and the address of each by what it is made of."""
import hashlib
import json
import platform
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from importlib.metadata import version
from pathlib import Path

from ..errors import DebriefError, InputError
from ..hearing.models import sha256_of
from ..hearing.recording import duration_samples, probe
from ..records.sound import Recording
from ..session import RecordingEntry, Session, find_recording, load_session
from ..timebase import HEARING_RATE_HZ
from ..wording.lexicon import packs_for

SOUND_ENDINGS = frozenset(".wav .w64 .flac .mp3 .ogg .opus .m4a .aac .aif .aiff .caf .au .mka".split())
_DECIDING = ("debrief", "faster-whisper", "ctranslate2", "spacy", "rapidfuzz")


@dataclass(frozen=True, slots=True)
class Job:
    """One session to run. beside: the folder its recordings are looked for in; sounds: (path, channels, seconds) as their headers say."""

    name: str
    session: Session
    beside: str
    sounds: tuple[tuple[str, int, float], ...]

    @property
    def sound_s(self) -> float:
        """Seconds of sound, all channels counted."""
        return sum(channels * seconds for _, channels, seconds in self.sounds)


@dataclass(frozen=True, slots=True)
class Found:
    """Jobs of a folder, and what was left out with the reason: items found = jobs + refused."""

    jobs: tuple[Job, ...]
    refused: tuple[tuple[str, str], ...]


def find_jobs(folder: Path) -> Found:
    """Every session file below a folder is a job; so is every recording that none of them names. Raises InputError for an empty folder."""
    if not folder.is_dir():
        raise InputError("no such folder", str(folder), "give the folder that holds sessions or recordings")
    files = sorted(path for path in folder.rglob("*") if path.is_file() and not _hidden(path, folder))
    jobs: list[Job] = []
    refused: list[tuple[str, str]] = []
    named: set[Path] = set()
    for file in (path for path in files if path.suffix.lower() == ".toml"):
        _take(jobs, refused, file, partial(_session_job, file, folder, named))
    for sound in (path for path in files if path.suffix.lower() in SOUND_ENDINGS and path.resolve() not in named):
        _take(jobs, refused, sound, partial(_bare_job, sound, folder))
    if not jobs and not refused:
        raise InputError("holds neither a session file nor a recording", str(folder), f"recordings end in {', '.join(sorted(SOUND_ENDINGS))}")
    return Found(tuple(jobs), tuple(refused))


def job_key(job: Job, recordings: Iterable[Recording], digest: str, settings: Mapping[str, str]) -> str:
    """sha256 over all that decides a job's result: session, packs, the recordings' bytes, weights, settings, versions."""
    made_of = [job.session.model_dump_json(), [sha256_of(pack) for pack in packs_for(job.session.lexicon, Path(job.beside))],
               [recording.sha256 for recording in recordings], digest, sorted(settings.items()),
               [version(name) for name in _DECIDING], platform.machine()]
    return hashlib.sha256(json.dumps(made_of).encode()).hexdigest()


def _take(jobs: list[Job], refused: list[tuple[str, str]], path: Path, make: Callable[[], Job | None]) -> None:
    try:
        job = make()
    except DebriefError as error:
        refused.append((str(path), str(error)))
        return
    if job is not None:
        jobs.append(job)


def _session_job(file: Path, folder: Path, named: set[Path]) -> Job | None:
    """The job of a session file; None for TOML files that are no session (campaigns, lexicon packs name no recordings)."""
    if "recordings" not in file.read_text(encoding="utf-8", errors="replace"):
        return None
    session, _ = load_session(file, to_hear=True)
    paths = [find_recording(entry.file, file.parent) or file.parent / entry.file for entry in session.recordings]
    named.update(path.resolve() for path in paths)
    inner = file.parent if file.name == "session.toml" and file.parent != folder else file.with_suffix("")
    return Job(_job_name(inner, folder), session, str(file.parent.resolve()), _sounds(paths))


def _bare_job(sound: Path, folder: Path) -> Job:
    session = Session(title=sound.stem, recordings=(RecordingEntry(file=str(sound.resolve())),))
    return Job(_job_name(sound, folder), session, str(sound.parent.resolve()), _sounds([sound]))


def _sounds(paths: Sequence[Path]) -> tuple[tuple[str, int, float], ...]:
    infos = [probe(path) for path in paths]
    return tuple((str(info.path.resolve()), info.channels, duration_samples(info) / HEARING_RATE_HZ) for info in infos)


def _job_name(path: Path, folder: Path) -> str:
    """Its place below the folder as one plain name."""
    return "-".join(_plain(path.relative_to(folder).parts)) or "session"


def _plain(parts: Iterable[str]) -> Iterator[str]:
    for part in parts:
        yield "".join(character if character.isalnum() or character in "._" else "_" for character in part)


def _hidden(path: Path, folder: Path) -> bool:
    return any(part.startswith(".") for part in path.relative_to(folder).parts)

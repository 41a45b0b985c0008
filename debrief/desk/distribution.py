"""A copy of a session for others: store, tables, captions and sheet, without what is tagged medical unless that is asked for.

The copy is made in a folder of its own beside the session's store and erased there, so that nothing medical ever stands where the copy
will be taken from; a copy that was killed leaves its part where the next one, a run or erasing sweeps it away.
"""
import json
import os
import shutil
import struct
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ..errors import InputError, RecordingError
from ..hearing.heard_files import check_heard
from ..hearing.recording import probe, read_blocks
from ..records.sound import Recording
from ..session import Session
from ..store.database import FILE_NAME, Database
from ..store.erase import erase, kept_of_excluded
from ..store.medical import Names, drop_mentions, find_medical
from ..store.sessions import SessionStore
from ..timebase import HEARING_RATE_HZ
from .contents import Contents, read_contents, session_of
from .handout import write_all
from .whole_files import scratch, sweep, whole

WHO, WHY = "debrief copy", "tagged medical, left out of this copy"


@dataclass(frozen=True, slots=True)
class CopySettings:
    """medical: keep what is tagged; sound: write the recordings too, silent where something was left out; session: its tags count too."""

    medical: bool = False
    sound: bool = False
    session: Session | None = None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What the copy lacks: rows, and seconds of talk."""

    rows: int
    seconds: float


def copy_session(store: SessionStore, out: Path, settings: CopySettings) -> LeftOut:
    """Writes the copy into a folder that holds no session yet. Raises InputError, StoreError, RecordingError."""
    if (out / FILE_NAME).exists():
        raise InputError("a session lies there already", str(out), "give an empty folder, so that nothing of an older copy stays in it")
    tagged = session_of(store).medical_names() | (settings.session.medical_names() if settings.session else frozenset())
    if not tagged and not settings.medical:
        raise InputError("nothing is tagged medical, so nothing can be left out", todo="write medical = true at the parameters in the "
                         "session file and name it with --session, or say --with-medical")
    with _workplace(store.db.path.absolute().parent) as folder:
        file = folder / FILE_NAME
        _duplicate(store, file)
        with SessionStore.open(file) as copy:
            left = LeftOut(0, 0.0) if settings.medical else _leave_out(copy, tagged)
            if excluded := kept_of_excluded(copy.db):  # excluded since it was heard: earlier passes go into the copy too
                erase(copy.db, WHO, "excluded in the session file", excluded)
            _forget_paths(copy.db)
            _write(copy, store.recordings(), out, settings)
        with whole(out / FILE_NAME) as partial:
            shutil.copyfile(file, partial)
    return left


@contextmanager
def _workplace(beside: Path) -> Iterator[Path]:
    """A folder in the session's; in the system's where nobody may write beside the session."""
    if os.access(beside, os.W_OK):
        sweep(beside)
        with scratch(beside, "copy") as folder:
            yield folder
    else:
        with tempfile.TemporaryDirectory(prefix="debrief-copy-") as name:
            yield Path(name)


def _duplicate(store: SessionStore, file: Path) -> None:
    with closing(Database.create(file)) as target:
        store.db.connection.backup(target.connection)


def _leave_out(copy: SessionStore, tagged: frozenset[str]) -> LeftOut:
    names = Names(tagged)
    found = find_medical(copy, names)
    _rewrite_plans(copy, tagged)
    drop_mentions(copy.db, names)
    gone = erase(copy.db, WHO, WHY, found.places, found.numbers)
    return LeftOut(len(gone), sum(span.duration_s for _, span in found.places))


def _rewrite_plans(copy: SessionStore, tagged: frozenset[str]) -> None:
    """The session file that each pass kept, without the parameters."""
    with copy.db.writing():
        for made in copy.passes():
            settings = dict(made.settings)
            if "session" in settings:
                settings["session"] = _without(Session.model_validate_json(settings["session"]), tagged).model_dump_json()
                copy.db.run("UPDATE passes SET settings = ? WHERE pass = ?", (json.dumps(settings, ensure_ascii=False), made.number))


def _without(session: Session, tagged: frozenset[str]) -> Session:
    def kept(what: str) -> bool:
        return what.casefold() not in tagged

    cards = tuple(card.model_copy(update={
        "readouts": tuple(item for item in card.readouts if not item.medical and kept(item.what)),
        "ratings": tuple(item for item in card.ratings if not item.medical)}) for card in session.cards)
    return session.model_copy(update={
        "cards": cards, "parameters": tuple(item for item in session.parameters if not item.medical and kept(item.what)),
        "limits": tuple(item for item in session.limits if kept(item.what)),
        "relations": tuple(item for item in session.relations if all(kept(name) for name in (item.of, *item.from_)))})


def _forget_paths(db: Database) -> None:
    """Where the recordings lay is nobody else's business."""
    with db.writing():
        for item in db.all("SELECT recording, path FROM recordings"):
            db.run("UPDATE recordings SET path = ? WHERE recording = ?", (Path(item["path"]).name, item["recording"]))
    db.all("VACUUM")
    db.all("PRAGMA wal_checkpoint(TRUNCATE)")


def _write(copy: SessionStore, originals: Sequence[Recording], out: Path, settings: CopySettings) -> None:
    places = {item.recording: item.path for item in originals}
    contents: Contents = read_contents(copy)
    heard = [replace(item, path=places.get(item.recording, item.path)) for item in contents.recordings]
    if settings.sound:
        for item in heard:
            write_open_sound(item, out / f"{Path(item.path).stem}.wav")
            with copy.db.writing():
                copy.db.run("UPDATE recordings SET path = ? WHERE recording = ?", (f"{Path(item.path).stem}.wav", item.recording))
        copy.db.all("PRAGMA wal_checkpoint(TRUNCATE)")
    write_all(replace(contents, recordings=heard), out)


def write_open_sound(recording: Recording, file: Path) -> None:
    """The recording as 16 kHz WAV (up to 12 hours on one channel), every second in its place, silent where it is excluded or erased.

    RecordingError where the file is not the one that was heard."""
    path = Path(recording.path)
    check_heard(path, recording.sha256)
    channels = range(probe(path).channels)
    if recording.duration * len(channels) * 2 >= 1 << 32:
        raise RecordingError("too long for one sound file in a copy", str(path), "copy without --with-sound")
    with whole(file) as partial:
        sound = np.memmap(partial, np.dtype("<i2"), "w+", 44, (max(1, recording.duration), len(channels)))
        for channel, start, samples in _blocks(recording, channels):
            room = sound[start:start + len(samples), channel]
            room[:] = (np.clip(samples[:len(room)], -1, 1) * 32_767).astype("<i2")
        for channel, span in recording.kept_out:
            sound[span.start:span.end, channel] = 0
        sound.flush()
        del sound
        with partial.open("r+b") as head:
            head.write(_head(len(channels), max(1, recording.duration)))


def _blocks(recording: Recording, channels: Sequence[int]) -> Iterator[tuple[int, int, np.ndarray]]:
    for block in read_blocks(Path(recording.path), channels):
        yield block.channel, block.start, block.sound


def _head(channels: int, samples: int) -> bytes:
    """The 44 bytes before the samples of a plain WAV file of 16-bit samples."""
    size, a_second = samples * channels * 2, HEARING_RATE_HZ * channels * 2
    return struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + size, b"WAVE", b"fmt ", 16, 1, channels, HEARING_RATE_HZ, a_second, channels * 2, 16,
                       b"data", size)

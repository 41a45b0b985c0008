"""A session as a package for keeping: a BagIt bag with the store, its tables, sheet and captions, the rows as Web Annotations, and where each row
comes from. Recordings go in byte for byte; in a package without what is tagged medical they are written anew, silent there (desk/distribution.py).
"""
import json
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

from ..desk.distribution import CopySettings, copy_session
from ..desk.whole_files import write_whole
from ..errors import InputError
from ..hearing.heard_files import check_heard
from ..records.sound import Recording
from ..store.edits import Deed, deeds
from ..store.sessions import SessionStore
from .annotations import collection, manifest
from .bags import make_bag
from .places import at_hand


@dataclass(frozen=True, slots=True)
class KeepSettings:
    """sound: recordings go in; medical: what is tagged medical stays in; recordings: a folder in which they are looked for; address: where the
    package will lie, for a manifest."""

    sound: bool = False
    medical: bool = True
    recordings: Path | None = None
    address: str = ""


def keep(store: SessionStore, out: Path, settings: KeepSettings = KeepSettings()) -> None:
    """Writes the package into a folder that is new or empty. Raises InputError, StoreError, RecordingError."""
    if out.exists() and any(out.iterdir()):
        raise InputError("the folder is not empty", str(out), "give a new folder, so that nothing else goes into the package")
    if settings.address and not settings.address.startswith(("http://", "https://")):
        raise InputError(f"{settings.address!r} is no http address", todo="an IIIF manifest needs one, such as https://archive.example/trial-4")
    data = out / "data"
    found = _at_hand(store.recordings(), settings)
    copy_session(store, data, CopySettings(medical=settings.medical, sound=settings.sound and not settings.medical))
    if settings.sound and settings.medical:
        _copy_sound(found, data)
    with SessionStore.open(data, read_only=True) as copy:
        _describe(copy, data, settings)
        title = copy.noted("title") or ""
    for beside in data.glob("debrief.sqlite-*"):
        beside.unlink()
    make_bag(out, {"External-Description": title or "a debrief session", "External-Identifier": _identity(found)})


def _at_hand(recordings: Sequence[Recording], settings: KeepSettings) -> list[tuple[Recording, Path | None]]:
    """Where each recording lies. InputError where one is wanted and is not at hand, RecordingError where it is not the
    file that was heard."""
    found = [(item, at_hand(item.path, settings.recordings)) for item in recordings]
    for item, path in found:
        if settings.sound and path is None:
            raise InputError("a recording is not at hand", item.path, "name its folder with --recordings, or leave --with-sound out")
        if settings.sound and path is not None:  # whatever lies under a name that a stranger's store gives must not leave this machine
            check_heard(path, item.sha256)
    return found


def _copy_sound(found: Sequence[tuple[Recording, Path | None]], data: Path) -> None:
    for item, path in found:
        assert path is not None
        target = data / Path(item.path).name
        if target.exists():
            raise InputError("two recordings have one name", str(path), "rename one and run the session again")
        shutil.copyfile(path, target)


def _identity(found: Sequence[tuple[Recording, Path | None]]) -> str:
    return " ".join(f"sha256:{item.sha256}" for item, _ in found if item.sha256) or "no recording"


def _describe(store: SessionStore, data: Path, settings: KeepSettings) -> None:
    recordings, done = store.recordings(), deeds(store.db)
    base = f"{settings.address.rstrip('/')}/data/" if settings.address else ""
    where = {item.recording: base + quote(Path(item.path).name) for item in recordings}
    about = provenance(store, done)
    title = store.noted("title") or ""
    _json(data / "annotations.jsonld", collection(store.rows(), title, where, done, about["pass"].get("started_utc", "")))
    _json(data / "provenance.json", about)
    if settings.address:
        _json(data / "manifest.json", manifest(recordings, title, where, settings.address))


def provenance(store: SessionStore, done: Sequence[Deed]) -> dict[str, Any]:
    """Where every row comes from: the pass with its settings, versions and digests, and each thing that a person did to the row."""
    accepted = store.accepted_pass()
    made = next((item for item in store.passes() if item.number == accepted), None)
    told = {"number": made.number, "started_utc": made.started_utc, "finished_utc": made.finished_utc, "settings": dict(made.settings),
            "versions": dict(made.versions), "digests": dict(made.digests),
            "lexicon": store.noted(f"lexicon of pass {made.number}")} if made else {}
    rows = [{"row": row.number, "kind": row.kind, "certainty": row.certainty, "certainty_version": row.witnesses.get("calibration"), "pass": accepted,
             "origins": {name: item.origin for name, item in row.fields.items() if item.value is not None},
             "edits": [{"action": deed.action, "who": deed.who, "at_utc": deed.at_utc, "note": deed.note, "undone": deed.undone}
                       for deed in done if deed.number == row.number]} for row in store.rows()]
    return {"pass": told, "recordings": [{"recording": item.recording, "file": Path(item.path).name, "sha256": item.sha256,
                                          "start": item.clock.start.isoformat() if item.clock.start else None, "notes": list(item.notes)}
                                         for item in store.recordings()], "rows": rows}


def _json(path: Path, value: object) -> None:
    write_whole(path, json.dumps(value, ensure_ascii=False, indent=1) + "\n")

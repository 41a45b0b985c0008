"""Small pieces of the recordings for the page, as WAV: 16 kHz, mono, 16 bit, exact to the sample, played by every browser.

Only channels that the pass listened to are given out. What the session excludes and what was erased is silent here, whatever the file
still holds. A recording is looked for where it was heard, in the folder given, beside the store and beside the session file.
"""
import io
import wave
from collections import OrderedDict
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock

import numpy as np

from ...errors import RecordingError
from ...hearing.clips import levelled
from ...hearing.heard_files import check_heard
from ...hearing.quick_spans import QuickSpans
from ...hearing.recording import duration_samples, probe
from ...records.sound import Recording, Source
from ...store.erase import erased_places
from ...store.sessions import SessionStore
from ...timebase import HEARING_RATE_HZ, Span

LONGEST_S = 60
SAME_LENGTH_S = 2.0
"""A file whose length differs by more is not the recording that was heard."""
KEPT_BYTES = 48_000_000


@dataclass(frozen=True, slots=True)
class Heard:
    """One recording as the page can use it: where it lies now (None: not found), what to tell people, what must stay silent."""

    recording: Recording
    path: Path | None
    says: str
    channels: frozenset[int]
    container: str = ""
    silent: tuple[tuple[int, Span], ...] = ()


def silence_token(store: SessionStore) -> str:
    """Changes when what may be heard has changed: another pass, something erased."""
    erased = store.db.one("SELECT max(erasure) AS last FROM erasures")
    return f"{store.accepted_pass()}/{erased['last'] if erased else None}"


def find_recordings(store: SessionStore, folder: Path | None = None) -> dict[str, Heard]:
    """Every recording of the store by its short name."""
    accepted = store.accepted_pass()
    heard_in = None if accepted is None else store.heard_in(accepted)
    listened: dict[str, set[int]] = {}
    silent: dict[str, list[tuple[int, Span]]] = {}
    for item in store.db.all("SELECT DISTINCT recording, channel FROM stretches WHERE pass = ?", (heard_in,)):
        listened.setdefault(item["recording"], set()).add(item["channel"])
    for item in store.db.all("SELECT recording, channel, start, \"end\" FROM stretches WHERE pass = ? AND held_as = 'excluded'", (heard_in,)):
        silent.setdefault(item["recording"], []).append((item["channel"], Span(item["start"], item["end"])))
    for source, span in erased_places(store.db):
        silent.setdefault(source.recording, []).append((source.channel, span))
    return {item.recording: _heard(item, _places(item, store, folder), listened.get(item.recording, set()), silent.get(item.recording, ()))
            for item in store.recordings()}


def as_found(recordings: dict[str, Heard]) -> list[Recording]:
    """The recordings with the places at which they were found."""
    return [replace(item.recording, path=str(item.path)) if item.path else item.recording for item in recordings.values()]


def _places(recording: Recording, store: SessionStore, folder: Path | None) -> list[Path]:
    heard_at, beside = Path(recording.path), store.db.path.absolute().parent
    places = [heard_at, *([folder / heard_at.name] if folder else []), beside / heard_at.name, beside.parent / heard_at.name]
    return list(dict.fromkeys(places))


def _heard(recording: Recording, places: Sequence[Path], channels: set[int], silent: Iterable[tuple[int, Span]]) -> Heard:
    others = []
    for path in places:
        if not path.is_file():
            continue
        container, trouble = _looked_at(recording, path)
        if not trouble:
            return Heard(recording, path, "", frozenset(channels), container, tuple(silent))
        others.append(f"{path}: {trouble}")
    looked = others or [str(path) for path in places]
    says = "; ".join(others) if others else f"not found; looked for as {', '.join(looked)}"
    return Heard(recording, None, f"Recording {Path(recording.path).name}: {says}", frozenset(channels), "", tuple(silent))


def _looked_at(recording: Recording, path: Path) -> tuple[str, str]:
    """Its container, and what is wrong with the file."""
    try:
        info = probe(path)
    except RecordingError as error:
        return "", error.what
    length = duration_samples(info)
    if length and recording.duration and abs(length - recording.duration) > SAME_LENGTH_S * HEARING_RATE_HZ:
        return "", f"another recording ({length / HEARING_RATE_HZ:.0f} s long; {recording.duration / HEARING_RATE_HZ:.0f} s were heard)"
    try:
        check_heard(path, recording.sha256)
    except RecordingError as error:
        return "", error.what
    return info.container, ""


class Sounds:
    """Clips by place, kept while there is room. May be called from several threads."""

    def __init__(self, recordings: dict[str, Heard]) -> None:
        self.recordings = recordings
        self._files = {name: QuickSpans(heard.path, heard.container) for name, heard in recordings.items() if heard.path is not None}
        self._kept: OrderedDict[tuple[Source, Span], bytes] = OrderedDict()
        self._lock = Lock()

    def prepare(self) -> None:
        """Lists the packets of files that have no index, so that no row waits for it."""
        for file in self._files.values():
            with suppress(RecordingError):  # told when a row of it is to be heard
                file.prepare()

    def clip(self, source: Source, span: Span) -> bytes:
        """The span as a WAV file. RecordingError: no such place, not found, too long."""
        heard = self.recordings.get(source.recording)
        if heard is None or source.channel not in heard.channels:
            raise RecordingError("the session has no such sound", f"{source.recording}, channel {source.channel}")
        if heard.path is None:
            raise RecordingError(heard.says, todo="start the page again with --recordings and the folder that holds it")
        if not 0 < span.end - span.start <= LONGEST_S * HEARING_RATE_HZ or span.start > (heard.recording.duration or span.start):
            raise RecordingError(f"a clip is at most {LONGEST_S} s of the recording")
        with self._lock:
            if (source, span) in self._kept:
                self._kept.move_to_end((source, span))
                return self._kept[source, span]
        made = wav(self._read(heard, source.channel, span))
        with self._lock:
            self._kept[source, span] = made
            while sum(len(item) for item in self._kept.values()) > KEPT_BYTES:
                self._kept.popitem(last=False)
        return made

    def _read(self, heard: Heard, channel: int, span: Span) -> np.ndarray:
        sound = np.array(self._files[heard.recording.recording].read(channel, span))
        for silent_channel, silent in heard.silent:
            if silent_channel == channel and silent.overlap(span):
                sound[max(0, silent.start - span.start):max(0, silent.end - span.start)] = 0.0
        return levelled(sound)


def wav(sound: np.ndarray) -> bytes:
    """float32 at 16 kHz as a WAV file."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(HEARING_RATE_HZ)
        file.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
    return out.getvalue()

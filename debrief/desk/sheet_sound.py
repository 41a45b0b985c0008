"""The sound of a debrief sheet: a few seconds for each row, made one at a time and kept on the disk until the page that holds them is written.

A page says beside each row whether it can be heard, and holds the sound at its end; so every clip is made before the first line is
written, and memory would grow with the sheet if they waited there.
"""
import base64
import io
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from markupsafe import Markup

from ..errors import RecordingError, StoreError
from ..hearing.clips import clip as clip_of_recording
from ..records.rows import Row
from ..records.sound import Recording, Source
from ..timebase import HEARING_RATE_HZ, Span
from .contents import Contents

Clip = Callable[[Recording, Source, Span], bytes]
LONGEST_CLIP_S, SHORTEST_CLIP_S, NEAR_S = 14.0, 2.0, 8.0
MOST_SOUND_BYTES = 60_000_000


@dataclass(frozen=True, slots=True)
class SheetSettings:
    """clip: gives the sound of a span, None leaves all sound out; most_sound_bytes: room for sound, doubtful rows are served first.

    waiting: the folder on whose disk the sound waits for the page (as a file without a name, gone even after a kill); None: in memory.
    """

    clip: Clip | None = clip_of_recording
    most_sound_bytes: int = MOST_SOUND_BYTES
    waiting: Path | None = None


@dataclass(slots=True)
class Sounds:
    """Base64 of the clips in a file. at: (offset, length) by row number; without: rows that have a place in sound and got none.

    no_room: how many of these were left out because the room for sound was full.
    """

    file: IO[bytes]
    at: dict[int, tuple[int, int]] = field(default_factory=dict)
    without: int = 0
    no_room: int = 0

    def keep(self, text: bytes) -> tuple[int, int]:
        """Puts one clip at the end of the file. Raises StoreError when the disk is full."""
        try:
            return self.file.seek(0, io.SEEK_END), self.file.write(text)
        except OSError as error:
            raise _refused(error, "the sound of the sheet") from error

    def json(self) -> Iterator[Markup]:
        """A JSON object, row number to base64, in pieces of one clip each."""
        yield Markup("{")
        for position, (number, (start, length)) in enumerate(self.at.items()):
            self.file.seek(start)
            text = self.file.read(length).decode("ascii")
            yield Markup(f'{", " if position else ""}"{number}": "{text}"')  # noqa: S704 (base64 holds no markup)
        yield Markup("}")

    def close(self) -> None:
        self.file.close()


def _refused(error: OSError, what: str) -> StoreError:
    return StoreError(f"cannot be written: {error.strerror}", what, "check the folder's permissions and the room on the disk")


def waiting_file(folder: Path | None) -> IO[bytes]:
    """A file without a name on the disk of the folder, gone even after a kill; in memory where none is given. Raises StoreError."""
    if folder is None:
        return io.BytesIO()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return tempfile.TemporaryFile(dir=folder)
    except OSError as error:
        raise _refused(error, str(folder)) from error


def clips(material: Contents, recordings: Sequence[Recording], settings: SheetSettings) -> Sounds:
    """The sound by row, rows to be heard first served first; from the first clip that finds no room, no more are made.

    The caller closes it. Raises StoreError for what the disk refuses.
    """
    sounds = Sounds(waiting_file(settings.waiting if settings.clip else None))
    try:
        if settings.clip is not None:
            _fill(sounds, material, ({item.recording: item for item in recordings}, settings.clip), settings.most_sound_bytes)
    except BaseException:
        sounds.close()
        raise
    return sounds


def _fill(sounds: Sounds, material: Contents, source: tuple[dict[str, Recording], Clip], room: int) -> None:
    known, clip = source
    made: dict[tuple[Source, Span], tuple[int, int]] = {}
    for row in _by_need(material):
        place = clip_place(row)
        if place is None or place[0].recording not in known:
            continue
        text = b""
        if not sounds.no_room and place not in made:
            text = _encoded(known[place[0].recording], place, clip)
        length = made[place][1] if place in made else len(text)
        if sounds.no_room or length > room:
            sounds.no_room += 1
        if sounds.no_room or not length:
            sounds.without += 1
            continue
        room -= length
        if place not in made:
            made[place] = sounds.keep(text)
        sounds.at[row.number or 0] = made[place]


def _by_need(material: Contents) -> Iterable[Row]:
    order = {item.row: position for position, item in enumerate(material.listening)}
    return sorted(material.rows, key=lambda row: (order.get(row.number, len(order)), row.certainty != "doubtful", row.number or 0))


def _encoded(recording: Recording, place: tuple[Source, Span], clip: Clip) -> bytes:
    try:
        return base64.b64encode(clip(recording, *place))
    except RecordingError:
        return b""  # moved or damaged since; counted and told on the sheet


def clip_place(row: Row) -> tuple[Source, Span] | None:
    """A few seconds around the row: its place with the evidence near it on the same channel, at least SHORTEST_CLIP_S."""
    place = row.place
    if place.source is None or place.span is None or place.role == "searched and absent":
        return None
    span, near = place.span, round(NEAR_S * HEARING_RATE_HZ)
    for part in row.evidence[1:]:
        if part.source == place.source and part.span is not None and part.role not in ("searched and absent", "closing", "resolution"):
            hull = span.hull(part.span)
            if part.span.start - near < span.end and part.span.end + near > span.start and hull.duration_s <= LONGEST_CLIP_S:
                span = hull
    short = max(0, round(SHORTEST_CLIP_S * HEARING_RATE_HZ) - (span.end - span.start)) // 2
    return place.source, Span(max(0, span.start - short), span.end + short)

"""What an answer shows of each place: who said what, when, in which recording, and an address that players understand.

The address is the recording's file with a media fragment (W3C Media Fragments, #t=start,end in seconds of that file).
"""
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from ..desk.plain_grounds import plain
from ..desk.row_text import text_of
from ..records.rows import Row
from ..records.sound import Source
from ..store.codec import row_in
from ..timebase import HEARING_RATE_HZ, Span, hms
from .finding import Answer
from .reading import body_text
from .shape import Archive

BEFORE_S, AFTER_S = 0.5, 0.5
"""A little sound around the words."""


@dataclass(frozen=True, slots=True)
class Place:
    """One result. kind: 'talk' or the kind of the row; says: the words as read, or the row in a line; heard: the words behind it as heard.

    start_s: session seconds; utc: of the first word; recording: the file as it was named; media: with its fragment; source and span: the
    channel and samples; copy: talk set aside as a copy of other talk.
    """

    session: int
    title: str
    store: str
    kind: str
    number: int
    says: str
    heard: str
    station: str | None
    loop: str | None
    certainty: str
    look: str
    start_s: float | None
    line_index: int | None
    utc: datetime | None
    utc_uncertainty_s: float | None
    recording: str | None
    sha256: str | None
    source: Source | None
    span: Span | None
    copy: bool = False
    row: Row | None = None

    @property
    def times(self) -> tuple[float, float] | None:
        """Seconds of the file from a little before to a little after."""
        return None if self.span is None else (max(0.0, self.span.start_s - BEFORE_S), self.span.end_s + AFTER_S)

    @property
    def media(self) -> str | None:
        return None if self.times is None or self.recording is None else f"{self.recording}#t={self.times[0]:.2f},{self.times[1]:.2f}"

    @property
    def when(self) -> str:
        """Date and time in UTC where known, and the session's own time."""
        wall = self.utc.strftime("%Y-%m-%d %H:%M:%S UTC") if self.utc else ""
        own = hms(self.start_s) if self.start_s is not None else f"line {self.line_index}" if self.line_index is not None else ""
        return f"{wall} ({own})" if wall and own else wall or own


_TURN = "SELECT t.*, turn AS number, 'talk' AS kind_name FROM turns AS t WHERE id IN ({marks})"
_ROW = ("SELECT t.*, k.text AS kind_name, b.words AS heard, b.body FROM rows AS t JOIN names AS k ON k.name = t.kind JOIN bodies AS b USING (id) "
        "WHERE id IN ({marks})")


def places(archive: Archive, answer: Answer) -> list[Place]:
    """The places of an answer, in its order."""
    found: dict[int, Any] = {}
    for first in range(0, len(answer.ids), 500):
        ids = answer.ids[first:first + 500]
        sql = (_ROW if answer.of_rows else _TURN).format(marks=", ".join("?" * len(ids)))
        found |= {item["id"]: item for item in archive.all(sql, ids)}
    numbers = ", ".join(str(number) for number in {item["session"] for item in found.values()})
    sessions = {item["session"]: item for item in archive.all(f"SELECT session, title, path FROM sessions WHERE session IN ({numbers})")}
    recordings = {(item["session"], item["position"]): item for item in archive.all(f"SELECT * FROM recordings WHERE session IN ({numbers})")}
    names = _names(archive, found.values())
    return [_place(found[number], sessions, recordings, names) for number in answer.ids]


def _names(archive: Archive, items: Any) -> dict[int, str]:
    wanted = sorted({number for item in items for number in (item["station"], item["loop"]) if number is not None})
    return {item["name"]: item["text"] for item in archive.all(f"SELECT * FROM names WHERE name IN ({', '.join(map(str, wanted))})")} if wanted else {}


def _place(item: Any, sessions: Mapping[int, Any], recordings: Mapping[tuple[int, int], Any], names: Mapping[int, str]) -> Place:
    session, sound = sessions[item["session"]], recordings.get((item["session"], item["recording"]))
    row = row_in(body_text(item["body"])) if item["kind_name"] != "talk" else None
    span = Span(item["start"], item["end"]) if item["start"] is not None and item["end"] is not None else None
    utc = sound["start_utc"] + span.start / HEARING_RATE_HZ / sound["rate"] if sound and span and sound["start_utc"] is not None else None
    heard = " / ".join(part.text for part in row.evidence if part.text) if row else item["heard"] or ""
    return Place(
        item["session"], session["title"], session["path"], item["kind_name"], item["number"], text_of(row) if row else item["text"], heard,
        names.get(item["station"]), names.get(item["loop"]), row.certainty if row else "", "; ".join(map(plain, row.look)) if row else "",
        None if item["start_ms"] is None else item["start_ms"] / 1000, item["line_index"],
        None if utc is None else datetime.fromtimestamp(utc, UTC), sound["start_uncertainty_s"] if sound and utc is not None else None,
        sound["path"] if sound else None, sound["sha256"] if sound else None,
        Source(sound["recording"], item["channel"] or 0) if sound else None, span, bool(row is None and item["aside"]), row)


def at_hand(recording: str | None, folder: Path | None) -> Path | None:
    """Where a recording lies: in the folder given, by its name, else where it was heard; None where it is not at hand."""
    if recording is None:
        return None
    tried = [*([folder / Path(recording).name] if folder else []), Path(recording)]
    return next((path for path in tried if path.is_file()), None)


def grouped(found: Sequence[Place]) -> Iterator[tuple[Place, list[Place]]]:
    """Places by session, in order: (the first of the session, all of them)."""
    together: dict[int, list[Place]] = {}
    for place in found:
        together.setdefault(place.session, []).append(place)
    for items in together.values():
        yield items[0], items

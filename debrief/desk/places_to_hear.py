"""The listening list as people take it along: the places that fit into their minutes, as text, as JSON Lines, and as one sound file.

The list's order is that of checks/listening_list.py. Places all of whose rows a person has heard since are left out.
"""
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from ..checks.listening_list import PAD_S, fitting
from ..errors import RecordingError
from ..hearing.clips import encode, levelled
from ..hearing.heard_files import check_heard
from ..hearing.recogniser import Sound
from ..hearing.recording import read_open
from ..records.findings import ListeningItem
from ..records.rows import CERTAINTIES, Row
from ..records.sound import Recording
from ..timebase import HEARING_RATE_HZ, Span, hms
from .contents import Contents
from .plain_grounds import plain, plain_all
from .row_text import SIGNS, one_line, text_of

MOST_REASONS = 3
_WEIGHED = "the witnesses give"
PAUSE_S = 0.7
"""Silence between two places in the sound file."""


@dataclass(frozen=True, slots=True)
class Place:
    """One entry: the item, the rows that hearing it settles, and where it begins in the sound file (None: it has no sound there)."""

    item: ListeningItem
    rows: tuple[Row, ...]
    sound_s: float | None = None


@dataclass(frozen=True, slots=True)
class Chosen:
    """places: what fits; whole: how many places there are; seconds and expected: of those chosen, and of the whole list."""

    places: tuple[Place, ...]
    whole: int
    seconds: tuple[float, float]
    expected: tuple[float, float]


def choose(contents: Contents, minutes: float | None = None) -> Chosen:
    """The places still to be heard, best first; with minutes, as many as fit."""
    left = [place for place in places(contents) if not place.rows or any(r.certainty != "heard by a person" for r in place.rows)]
    taken = [place.item for place in left] if minutes is None else list(fitting((place.item for place in left), minutes * 60))
    chosen = tuple(place for place in left if any(place.item is item for item in taken))
    return Chosen(chosen, len(left), (_sum(chosen, "seconds"), _sum(left, "seconds")),
                  (_sum(chosen, "expected_errors"), _sum(left, "expected_errors")))


def _sum(found: Sequence[Place], name: str) -> float:
    return sum(getattr(place.item, name) for place in found)


def places(contents: Contents) -> list[Place]:
    """Every item of the list with the rows whose place it plays."""
    numbered = contents.numbered()
    by_source: dict[Any, list[Row]] = {}
    for row in contents.rows:
        by_source.setdefault(row.place.source, []).append(row)
    made = []
    for item in contents.listening:
        own = [numbered[item.row]] if item.row in numbered else []
        if item.row is not None and not own:
            continue  # rejected or erased since
        near = by_source.get(item.part.source, ()) if item.part.source and item.part.span else ()
        made.append(Place(item, tuple([*own, *(row for row in near if row not in own and _inside(row, item.part.span))])))
    return made


def _inside(row: Row, span: Span | None) -> bool:
    own = row.place.span
    return span is not None and own is not None and row.place.role != "searched and absent" and span.start <= own.start and own.end <= span.end


# as text


def listen_text(chosen: Chosen, minutes: float | None = None) -> Iterator[str]:
    """Lines for a terminal or for paper."""
    if not chosen.whole:
        yield "Nothing is left to hear: a person has heard every place on the list."
        return
    room = "" if minutes is None else f" that fit into {minutes:g} minute{'s' if minutes != 1 else ''}"
    yield (f"{len(chosen.places)} of {chosen.whole} places{room}: {_minutes(chosen.seconds[0])} of listening. They are expected to hold "
           f"{chosen.expected[0]:.1f} of {chosen.expected[1]:.1f} errors.")
    for position, place in enumerate(chosen.places, 1):
        yield from _place_text(position, place)


def _place_text(position: int, place: Place) -> Iterator[str]:
    at = hms(place.item.part.start_s) if place.item.part.start_s is not None else "no time"
    where = f", {hms(place.sound_s)} in the sound file" if place.sound_s is not None else ""
    yield one_line(f"{position}. {at}, {place.item.seconds:.0f} s{where}: {'; '.join(reasons(place.item.why))}")
    for row in place.rows:
        yield f"     {row.number:>5}  {SIGNS[row.certainty]} {row.certainty:<17}  {one_line(text_of(row))}"
    if not place.rows:
        yield f"     no row; heard: {one_line(place.item.part.text) or 'nothing that could be read'}"


def reasons(why: Sequence[str]) -> list[str]:
    """What a person reads of a place's reasons: the first few that say something of it; how sure its rows are stands beside each row."""
    telling = [text for text in dict.fromkeys(why) if text not in CERTAINTIES and not text.startswith(_WEIGHED)]
    weighed = [text for text in why if text.startswith(_WEIGHED)]
    return plain_all(telling[:MOST_REASONS] or weighed[:1] or why[:1])


def _minutes(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 90 else f"{seconds / 60:.1f} minutes"


def listen_json_lines(chosen: Chosen) -> Iterator[str]:
    """One place a line."""
    for position, place in enumerate(chosen.places, 1):
        part = place.item.part
        yield json.dumps({
            "position": position, "start_s": part.start_s, "recording": part.source.recording if part.source else None,
            "channel": part.source.channel if part.source else None, "from_s": part.span.start_s if part.span else None,
            "to_s": part.span.end_s if part.span else None, "seconds": round(place.item.seconds, 3),
            "expected_errors": round(place.item.expected_errors, 4), "why": list(map(plain, place.item.why)), "sound_s": place.sound_s,
            "rows": [{"row": row.number, "kind": row.kind, "certainty": row.certainty, "says": text_of(row)} for row in place.rows],
        }, ensure_ascii=False)


# as sound


def with_sound(chosen: Chosen, recordings: Sequence[Recording]) -> tuple[Chosen, bytes]:
    """The places one after another as one Ogg/Opus file, and the same places with their second in it."""
    known = {item.recording: item for item in recordings}
    pause = np.zeros(round(PAUSE_S * HEARING_RATE_HZ), np.float32)
    pieces: list[Sound] = []
    placed, at = [], 0
    for place in chosen.places:
        sound = _sound_of(place, known)
        if sound is None:
            placed.append(place)
            continue
        placed.append(replace(place, sound_s=round(at / HEARING_RATE_HZ, 2)))
        pieces += [levelled(sound), pause]
        at += len(sound) + len(pause)
    whole = np.concatenate(pieces) if pieces else np.zeros(0, np.float32)
    return replace(chosen, places=tuple(placed)), encode(whole)


def _sound_of(place: Place, known: dict[str, Recording]) -> Sound | None:
    part = place.item.part
    if part.source is None or part.span is None or part.source.recording not in known:
        return None
    recording, pad = known[part.source.recording], round(PAD_S * HEARING_RATE_HZ)
    span = Span(max(0, part.span.start - pad), max(part.span.end, min(part.span.end + pad, recording.duration)))
    try:
        check_heard(Path(recording.path), recording.sha256)
        return read_open(recording, part.source.channel, span)
    except RecordingError:
        return None

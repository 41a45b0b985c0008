"""The debrief sheet: one HTML file that opens from disk, with its sound inside and no request to anywhere.

A strict Content-Security-Policy allows this file's own script and style by digest and sound from data: addresses only, so text from a
transcript can neither run nor fetch anything; jinja2 escapes all of it besides.
"""
import base64
import hashlib
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from .. import __version__
from ..errors import RecordingError
from ..hearing.clips import clip as clip_of_recording
from ..records.rows import Row
from ..records.sound import Recording, Source
from ..store.sessions import Seal
from ..timebase import HEARING_RATE_HZ, Span, hms
from . import sheet_parts
from .formats import CAUTION
from .row_text import visible
from .sheet_parts import Material

Clip = Callable[[Recording, Source, Span], bytes]
LONGEST_CLIP_S, SHORTEST_CLIP_S, NEAR_S = 14.0, 2.0, 8.0
MOST_SOUND_BYTES = 60_000_000


@dataclass(frozen=True, slots=True)
class SheetSettings:
    """clip: gives the sound of a span, None leaves all sound out; most_sound_bytes: room for sound, doubtful rows are served first."""

    clip: Clip | None = clip_of_recording
    most_sound_bytes: int = MOST_SOUND_BYTES


def sheet(material: Material, recordings: Sequence[Recording], seal: Seal | None = None, settings: SheetSettings | None = None) -> str:
    """The whole file as text."""
    settings = settings or SheetSettings()
    sounds, without = clips(material, recordings, settings)
    data = json.dumps(sounds).replace("<", "\\u003c")
    style = static_text("sheet.css") + page_heads(material.session.title or "Debrief sheet", seal)
    script = static_text("sheet.js")
    heard, listen_s = sheet_parts.doubtful(material)
    return environment().get_template("sheet.html").render(
        session=material.session, recordings=recordings, seal=seal, caution=CAUTION, version=__version__, total=len(material.rows),
        policy=policy(style, script), style=Markup(style), script=Markup(script), sounds=Markup(data), playable=set(sounds),  # noqa: S704
        without_sound=without, counts=sheet_parts.counts(material.rows),
        expected=sheet_parts.expected_wrong(material.rows), happened=sheet_parts.what_happened(material),
        decide=sheet_parts.to_decide(material), most=sheet_parts.MOST_ON_FIRST_PAGE, doubtful=heard, listen_s=listen_s,
        timeline=sheet_parts.drawn_timeline(material), plots=sheet_parts.plots(material), grid=sheet_parts.ratings_grid(material),
        polls=sheet_parts.polls(material), clocks=sheet_parts.clocks(material), read_backs=sheet_parts.wrong_read_backs(material),
        missing=sheet_parts.missing(material), open_items=sheet_parts.items(material.of("open_items")),
        questions=sheet_parts.crew_questions(material), warnings=sheet_parts.warnings(material),
        everything=sheet_parts.everything(material))


def page_heads(title: str, seal: Seal | None) -> str:
    """Style for the head of every printed page: title at the left, the state of the seal at the right."""
    state = "not signed" if seal is None else "seal broken" if seal.broken else f"signed by {seal.who}, {seal.at_utc[:16]}"
    font = "font:8pt sans-serif;white-space:nowrap"
    return f'@page{{@top-left{{content:"{_css_text(title[:70])}";{font}}}@top-right{{content:"{_css_text(state[:60])}";{font}}}}}\n'


def _css_text(text: str) -> str:
    """Text inside a CSS string: whatever is no plain letter, digit or space is written by its number."""
    return "".join(sign if sign.isascii() and (sign.isalnum() or sign == " ") else f"\\{ord(sign):x} " for sign in text)


def policy(style: str, script: str) -> str:
    """Nothing but this style, this script and sound from inside the file."""
    return (f"default-src 'none'; style-src '{_digest(style)}'; script-src '{_digest(script)}'; media-src data:; base-uri 'none'; "
            "form-action 'none'")


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def static_text(name: str) -> str:
    return files("debrief.desk").joinpath("static", name).read_text(encoding="utf-8")


@lru_cache
def environment(package: str = "debrief.desk") -> Environment:
    """For every page of ours: text is escaped, characters that hide or turn text are made visible, what is missing is an error."""
    folders = ChoiceLoader([PackageLoader(name, "templates") for name in dict.fromkeys((package, "debrief.desk"))])
    made = Environment(loader=folders, autoescape=True, undefined=StrictUndefined, finalize=visible, trim_blocks=True, lstrip_blocks=True)
    made.filters["hms"] = hms
    made.filters["file_name"] = lambda path: Path(path).name
    return made


# sound


def clips(material: Material, recordings: Sequence[Recording], settings: SheetSettings) -> tuple[dict[int, str], int]:
    """Sound by row number as base64, rows to be heard first served first; and how many rows that have a place in sound got none."""
    if settings.clip is None:
        return {}, 0
    known = {item.recording: item for item in recordings}
    made: dict[tuple[Source, Span], str] = {}
    sounds: dict[int, str] = {}
    without = used = 0
    for row in _by_need(material):
        place = clip_place(row)
        if place is None or place[0].recording not in known:
            continue
        text = made.get(place) or _encoded(known[place[0].recording], place, settings.clip)
        if not text or used + len(text) > settings.most_sound_bytes:
            without += 1
            continue
        used += len(text)
        made[place] = sounds[row.number or 0] = text
    return sounds, without


def _by_need(material: Material) -> Iterable[Row]:
    order = {item.row: position for position, item in enumerate(material.listening)}
    return sorted(material.rows, key=lambda row: (order.get(row.number, len(order)), row.certainty != "doubtful", row.number or 0))


def _encoded(recording: Recording, place: tuple[Source, Span], clip: Clip) -> str:
    try:
        return base64.b64encode(clip(recording, *place)).decode()
    except RecordingError:
        return ""  # moved or damaged since; counted and told on the sheet


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

"""The debrief sheet: one HTML file that opens from disk, with its sound inside and no request to anywhere.

A strict Content-Security-Policy allows this file's own script and style by digest and sound from data: addresses only, so text from a
transcript can neither run nor fetch anything; jinja2 escapes all of it besides.
"""
import base64
import hashlib
from collections.abc import Iterator, Sequence
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from .. import __version__
from ..records.sound import Recording
from ..store.sessions import Seal
from ..timebase import hms
from . import sheet_parts
from .formats import CAUTION
from .row_text import visible
from .sheet_parts import Material
from .sheet_sound import SheetSettings, Sounds, clip_place, clips

__all__ = ["SheetSettings", "clip_place", "pieces", "sheet"]


def sheet(material: Material, recordings: Sequence[Recording], seal: Seal | None = None, settings: SheetSettings | None = None) -> str:
    """The whole file as text."""
    return "".join(pieces(material, recordings, seal, settings))


def pieces(material: Material, recordings: Sequence[Recording], seal: Seal | None = None,
           settings: SheetSettings | None = None) -> Iterator[str]:
    """The file as text in small pieces, so that memory does not grow with its sound. All clips are made before the first piece is given."""
    sounds = clips(material, recordings, settings or SheetSettings())
    try:
        yield from _page(material, recordings, seal, sounds)
    finally:
        sounds.close()


def _page(material: Material, recordings: Sequence[Recording], seal: Seal | None, sounds: Sounds) -> Iterator[str]:
    style = static_text("sheet.css") + page_heads(material.session.title or "Debrief sheet", seal)
    script = static_text("sheet.js")
    heard, listen_s = sheet_parts.doubtful(material)
    return environment().get_template("sheet.html").generate(
        session=material.session, recordings=recordings, seal=seal, caution=CAUTION, version=__version__, total=len(material.rows),
        policy=policy(style, script), style=Markup(style), script=Markup(script), sounds=sounds.json(), playable=sounds.at,  # noqa: S704
        without_sound=sounds.without, no_room=sounds.no_room, counts=sheet_parts.counts(material.rows),
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

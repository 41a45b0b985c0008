"""Answers as text for a terminal, JSON Lines, CSV, and one page that opens from disk with its sound inside."""
import base64
import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from markupsafe import Markup

from .. import __version__
from ..desk.formats import CAUTION
from ..desk.row_text import SIGNS, one_line
from ..desk.sheet import environment, policy
from ..desk.sheet_sound import Sounds, waiting_file
from ..desk.tables import cell
from ..errors import DebriefError, RecordingError
from ..hearing.clips import clip
from ..records.rows import CERTAINTIES
from ..records.sound import Recording
from ..store.opening import as_written
from ..store.sessions import SessionStore
from ..timebase import Span
from .finding import MOST_COUNTED, Answer
from .places import Place, at_hand, grouped

COLUMNS = ("session", "title", "kind", "number", "says", "heard", "station", "loop", "certainty", "look", "start_s", "line_index", "utc",
           "utc_uncertainty_s", "recording", "channel", "from_s", "to_s", "media", "sha256", "store")
MOST_SOUND_BYTES = 60_000_000
KeptOut = tuple[tuple[int, Span], ...]
_WORD = re.compile(r"\w+")
_SHOWN_WORDS = 40


@dataclass(frozen=True, slots=True)
class PageSettings:
    """asked: the question as it was written; recordings: a folder in which recordings are looked for; sound: whether clips go in.

    waiting: the folder on whose disk the sound waits for the page; None: in memory.
    """

    asked: str = ""
    recordings: Path | None = None
    sound: bool = True
    waiting: Path | None = None


def summary(answer: Answer) -> str:
    """'3 rows', 'more than 20000 places; the first 50 are shown', and what was left out."""
    thing = ("row" if answer.counted == 1 else "rows") if answer.of_rows else ("place" if answer.counted == 1 else "places")
    count = f"more than {MOST_COUNTED}" if answer.more and answer.counted >= MOST_COUNTED else f"at least {answer.counted}" if answer.more else str(answer.counted)
    shown = f"; the first {len(answer.ids)} are shown" if len(answer.ids) < answer.counted or answer.more else ""
    return "; ".join([f"{count} {thing}{shown}", *answer.notes])


def lines(found: Iterable[Place], words: Sequence[str] = ()) -> Iterator[str]:
    """For a terminal: when, who, what, how sure, and below it where it plays."""
    for place in found:
        by = " on ".join(part for part in (place.station, place.loop) if part)
        sure = f"  {SIGNS[place.certainty]} {place.certainty}" if place.certainty in CERTAINTIES else "  copy" if place.copy else ""
        kind = "" if place.kind == "talk" else f"{place.kind}: "
        yield one_line(f"{place.when}  {place.title or Path(place.store).parent.name}  {by}{sure}")
        yield f"    {one_line(kind + snippet(place.says, words))}"
        if place.kind != "talk" or place.heard:
            yield f"    heard: {one_line(snippet(place.heard, words))}"
        if place.media and place.source:
            yield f"    {one_line(place.media)} channel {place.source.channel + 1}"


def snippet(text: str, words: Sequence[str]) -> str:
    """The text, or where it is long the words around the first that was asked for."""
    parts = text.split()
    if len(parts) <= _SHOWN_WORDS:
        return text
    hits = [i for i, part in enumerate(parts) if any(_is(word, part) for word in words)]
    first = max(0, (hits[0] if hits else 0) - _SHOWN_WORDS // 3)
    return f"{'... ' if first else ''}{' '.join(parts[first:first + _SHOWN_WORDS])}{' ...' if first + _SHOWN_WORDS < len(parts) else ''}"


def asked_words(match: str) -> tuple[str, ...]:
    """The single words of a full-text query of ours, in lower case, 'begin*' with its star: what to mark in a text."""
    quoted = re.findall(r'"([^"]*)"(\*?)', re.sub(r"\{tags\} : \([^)]*\)", "", match))
    return tuple(dict.fromkeys(word.lower() + star for text, star in quoted for word in _WORD.findall(text)))


def _is(word: str, part: str) -> bool:
    found = _WORD.findall(part.lower())
    return any(item.startswith(word[:-1]) for item in found) if word.endswith("*") else word in found


def marked(text: str, words: Sequence[str]) -> Markup:
    """The text with the words that were asked for in <mark>, everything else escaped."""
    pieces = re.split(r"(\s+)", snippet(text, words))
    return Markup("").join(Markup("<mark>{}</mark>").format(piece) if any(_is(word, piece) for word in words) else piece for piece in pieces)


def record(place: Place) -> dict[str, Any]:
    """A place as plain values, keyed by COLUMNS."""
    times = place.times or (None, None)
    return {"session": place.session, "title": place.title, "kind": place.kind, "number": place.number, "says": place.says, "heard": place.heard,
            "station": place.station, "loop": place.loop, "certainty": place.certainty or None, "look": place.look or None,
            "start_s": place.start_s, "line_index": place.line_index, "utc": place.utc, "utc_uncertainty_s": place.utc_uncertainty_s,
            "recording": place.recording, "channel": place.source.channel + 1 if place.source else None,
            "from_s": _rounded(times[0]), "to_s": _rounded(times[1]), "media": place.media, "sha256": place.sha256, "store": place.store}


def _rounded(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 2)


def json_lines(found: Iterable[Place]) -> str:
    """One place a line; rows with all their fields, each with its origin and certainty."""
    def one(place: Place) -> dict[str, Any]:
        fields = {name: {"value": str(item.value), "origin": item.origin, "certainty": item.certainty}
                  for name, item in place.row.fields.items() if item.value is not None} if place.row else None
        return record(place) | {"utc": place.utc.isoformat() if place.utc else None} | ({"fields": fields} if fields else {})
    return "".join(json.dumps(one(place), ensure_ascii=False) + "\n" for place in found)


def csv_text(found: Iterable[Place]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows([cell(value) for value in record(place).values()] for place in found)
    return out.getvalue()


def page(answer: Answer, found: Sequence[Place], settings: PageSettings) -> str:
    """The whole page as text."""
    return "".join(page_pieces(answer, found, settings))


def page_pieces(answer: Answer, found: Sequence[Place], settings: PageSettings) -> Iterator[str]:
    """One file that asks nothing of any network, in pieces; places of which the recording is at hand carry their sound."""
    style, script = (files("debrief.archive").joinpath("static", name).read_text(encoding="utf-8") for name in ("archive.css", "archive.js"))
    words = asked_words(answer.match)
    sounds = _sounds(found, settings)
    items = [(first, [(position, place, marked(place.says, words), SIGNS.get(place.certainty, ""))  # type: ignore[call-overload]
                      for position, place in enumerate(found) if place.session == first.session]) for first, _ in grouped(found)]
    try:
        yield from environment("debrief.archive").get_template("archive.html").generate(
            asked=settings.asked, summary=summary(answer), sessions=items, sounds=sounds.json(), caution=CAUTION,
            version=__version__, policy=policy(style, script), style=Markup(style), script=Markup(script), playable=set(sounds.at))  # noqa: S704
    finally:
        sounds.close()


def _sounds(found: Sequence[Place], settings: PageSettings) -> Sounds:
    """Clips by position, kept on the disk until the page that holds them is written."""
    made, room = Sounds(waiting_file(settings.waiting)), MOST_SOUND_BYTES
    silent: dict[str, Mapping[tuple[str, str], KeptOut]] = {}
    for position, place in enumerate(found if settings.sound else ()):
        path = at_hand(place.recording, settings.recordings)
        if path is None or place.source is None or place.span is None or room <= 0:
            continue
        if place.store not in silent:
            silent[place.store] = _silent(Path(place.store))
        kept_out = silent[place.store].get((place.source.recording, place.sha256 or ""))
        if kept_out is None:
            continue
        try:
            recording = Recording(place.source.recording, str(path), place.sha256 or "", 0, 0, 0, kept_out=kept_out)
            made.at[position] = made.keep(base64.b64encode(clip(recording, place.source, place.span)))
            room -= made.at[position][1]
        except RecordingError:
            continue  # damaged or replaced since; the page shows the place without sound
    return made


def _silent(store: Path) -> Mapping[tuple[str, str], KeptOut]:
    """(name, sha256) of each recording -> what of it must stay silent. The session's store alone knows: empty where it is not at hand."""
    try:
        with SessionStore.open(store, read_only=True) as opened, as_written(store):
            return {(item.recording, item.sha256): item.kept_out for item in opened.recordings()}
    except DebriefError:
        return {}

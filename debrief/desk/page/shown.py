"""Rows, places and turns as the page is given them: plain values for JSON, every text as text."""
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ...checks.listening_list import PAD_S
from ...records.findings import ListeningItem
from ...records.kinds import KINDS
from ...records.rows import Field, FieldValue, Part, Row
from ...records.sound import Recording, Source
from ...records.talk import Turn
from ...store.edits import Deed, Standing
from ...timebase import HEARING_RATE_HZ, Span, hms
from ..plain_grounds import plain, plain_all, witness
from ..row_text import SIGNS, shown, text_of
from ..sheet import clip_place
from .index import HEARD, NO_ROW, Entry
from .sounds import LONGEST_S

Json = dict[str, Any]


def row_shown(found: Standing, why: Iterable[str] = ()) -> Json:
    """A row with its fields in the order of its kind; fields that it does not have are there to be filled."""
    row = found.row
    return {
        "key": f"r{row.number}", "number": row.number, "kind": row.kind, "title": KINDS[row.kind].title, "text": text_of(row),
        "time": time_of(row.place), "start_s": row.place.start_s, "loop": row.loop or "", "station": row.station or "",
        "certainty": row.certainty, "sign": SIGNS[row.certainty], "state": found.state, "mark": found.mark, "revision": found.revision,
        "edited": found.edited, "turn": row.turn, "why": sorted(why),
        "look": list(map(plain, row.look)), "doubt": list(map(plain, row.doubt)), "fields": fields_shown(row), "clip": clip_shown(row),
        "evidence": [{"role": part.role, "text": part.text, "time": time_of(part), "span": span_shown(part)} for part in row.evidence],
        "witnesses": [witness(name, value) for name, value in row.witnesses.items()],
    }


def fields_shown(row: Row) -> list[Json]:
    """Fields of the kind; a map is shown as one field for each of its entries, named map.entry, and an empty one for a new entry."""
    made = []
    for column in KINDS[row.kind].columns:
        item = row.fields.get(column.name)
        if column.type == "map":
            entries: Mapping[str, str] = item.value if item and isinstance(item.value, Mapping) else {}
            made += [_field(f"{column.name}.{name}", "text", value, item) for name, value in entries.items()]
            made.append(_field(f"{column.name}.", "entry", None, None))
        else:
            made.append(_field(column.name, column.type, item.value if item else None, item))
    return made


def _field(name: str, kind: str, value: FieldValue, item: Field | None) -> Json:
    return {"name": name, "type": kind, "value": shown(value), "origin": item.origin if item else "", "part": item.part if item else None,
            "certainty": item.certainty if item else "", "why": plain_all(item.why) if item else [],
            "others": [shown(other) for other in item.others] if item else []}


def time_of(part: Part) -> str:
    if part.start_s is not None:
        return hms(part.start_s)
    return "" if part.line_index is None else f"line {part.line_index}"


def span_shown(part: Part) -> Json | None:
    if part.source is None or part.span is None:
        return None
    return {"recording": part.source.recording, "channel": part.source.channel, "start": part.span.start, "end": part.span.end}


def clip_shown(row: Row) -> Json | None:
    """What plays for a row: its words with PAD_S around; of a stretch that was searched, its beginning."""
    place = clip_place(row)
    searched = place is None and row.place.source is not None and row.place.span is not None
    if place is None and searched:
        place = (row.place.source, row.place.span)  # type: ignore[assignment]
    return None if place is None else padded(*place) | {"searched": searched}


def padded(source: Source, span: Span) -> Json:
    """The span with PAD_S around it, at most the longest clip; words: where the span itself lies."""
    pad = round(PAD_S * HEARING_RATE_HZ)
    start = max(0, span.start - pad)
    end = min(span.end + pad, start + LONGEST_S * HEARING_RATE_HZ)
    return {"recording": source.recording, "channel": source.channel, "start": start, "end": end, "pad": pad, "searched": False}


def place_shown(entry: Entry, item: ListeningItem, heard: Mapping[str, str] | None) -> Json:
    """A place of the listening list that gave no row."""
    part = item.part
    clip = padded(part.source, part.span) if part.source and part.span else None
    certainty = HEARD if heard else ""
    return {
        "key": entry.key, "number": None, "kind": NO_ROW, "title": "Talk without a row", "text": part.text or "sound that could not be read",
        "time": time_of(part), "start_s": part.start_s, "loop": entry.loop, "station": entry.station, "certainty": certainty,
        "sign": SIGNS["heard by a person"] if heard else "·", "state": "standing", "mark": "", "revision": 0, "edited": False, "turn": None,
        "why": [], "look": plain_all(item.why), "doubt": [], "fields": [], "clip": clip, "evidence": [], "witnesses": [],
        "place": entry.position, "heard_by": dict(heard) if heard else None,
    }


def turn_shown(turn: Turn, rows: Sequence[int]) -> Json:
    return {
        "turn": turn.index, "station": turn.station or "", "loop": turn.loop or "", "start_s": turn.start_s,
        "time": hms(turn.start_s) if turn.start_s is not None else "" if turn.line_index is None else f"line {turn.line_index}",
        "commentary": turn.commentary, "set_aside": turn.set_aside, "rows": list(rows),
        "clip": padded(turn.source, turn.span) if turn.source and turn.span else None,
        "words": [{"text": token.text, "heard": token.heard if token.heard != token.text else "", "why": token.why,
                   "start": token.span.start if token.span else None, "end": token.span.end if token.span else None} for token in turn.tokens],
    }


def deed_shown(deed: Deed) -> Json:
    return {"edit": deed.edit, "deed": deed.deed, "number": deed.number, "action": deed.action, "who": deed.who, "at_utc": deed.at_utc,
            "note": deed.note, "undone": deed.undone}


def recording_shown(recording: Recording, says: str) -> Json:
    return {"recording": recording.recording, "loops": list(recording.loops), "channels": recording.channels, "duration": recording.duration,
            "missing": says}

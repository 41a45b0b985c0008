"""Rows as W3C Web Annotations (Recommendation of 23 February 2017) on stretches of their recordings (Media Fragments URI 1.0, #t=), and the session
as an IIIF Presentation 3 manifest.

A row's first target is its place; further pieces of its evidence follow. What was searched and is absent is no target of a statement, so a row
about something never said points at the stretch that was searched. The manifest needs addresses: it is made only where one is given.
"""
import mimetypes
import uuid
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from .. import __version__
from ..desk.row_text import text_of
from ..records.rows import Part, Row
from ..records.sound import Recording
from ..store.edits import Deed
from ..timebase import HEARING_RATE_HZ

CONTEXT = "http://www.w3.org/ns/anno.jsonld"
FRAGMENTS = "http://www.w3.org/TR/media-frags/"
IIIF = "http://iiif.io/api/presentation/3/context.json"


def collection(rows: Sequence[Row], title: str, where: Mapping[str, str], deeds: Sequence[Deed] = (), made_utc: str = "") -> dict[str, Any]:
    """All rows with a place in sound as an AnnotationCollection of one page. where: the address of each recording, by its id."""
    name = uuid.uuid5(uuid.NAMESPACE_URL, f"{title} {sorted(where.values())}")
    items = [made for row in rows if (made := annotation(row, where, [d for d in deeds if d.number == row.number and not d.undone], made_utc))]
    return {"@context": CONTEXT, "id": f"urn:uuid:{name}", "type": "AnnotationCollection", "label": title or "debrief", "total": len(items),
            "first": {"id": f"urn:uuid:{uuid.uuid5(name, 'page')}", "type": "AnnotationPage", "startIndex": 0, "items": items}}


def annotation(row: Row, where: Mapping[str, str], deeds: Sequence[Deed] = (), made_utc: str = "") -> dict[str, Any] | None:
    """One row; None where none of its evidence lies in sound."""
    targets = _targets(row, where)
    if not targets:
        return None
    heard = " / ".join(part.text for part in row.evidence if part.text)
    bodies = [_text("describing", text_of(row)), _text("tagging", row.kind), _text("tagging", row.certainty)]
    bodies += [_text("commenting", f"heard: {heard}")] if heard else []
    name = uuid.uuid5(uuid.NAMESPACE_URL, f"{targets[0]['source']} {targets[0]['selector']['value']} row {row.number}")
    made: dict[str, Any] = {"@context": CONTEXT, "id": f"urn:uuid:{name}", "type": "Annotation", "motivation": "describing", "body": bodies,
                            "target": targets if len(targets) > 1 else targets[0],
                            "generator": {"type": "Software", "name": f"debrief {__version__}"}}
    people = list(dict.fromkeys(deed.who for deed in deeds))
    made |= {"creator": [{"type": "Person", "name": who} for who in people]} if people else {}
    made |= {"created": _instant(made_utc)} if made_utc else {}
    return made | ({"modified": _instant(max(deed.at_utc for deed in deeds))} if deeds else {})


def _text(purpose: str, value: str) -> dict[str, str]:
    return {"type": "TextualBody", "purpose": purpose, "value": value, "format": "text/plain"}


def _instant(text: str) -> str:
    """xsd:dateTime in UTC with Z, as the model asks for."""
    return text.replace("+00:00", "Z")


def _targets(row: Row, where: Mapping[str, str]) -> list[dict[str, Any]]:
    said = [part for part in row.evidence if part.role != "searched and absent"] or [row.place]
    found = [_target(part, where) for part in said]
    return list({target["source"] + target["selector"]["value"]: target for target in found if target}.values())


def _target(part: Part, where: Mapping[str, str]) -> dict[str, Any] | None:
    if part.source is None or part.span is None or part.source.recording not in where:
        return None
    value = f"t={part.span.start_s:.3f},{max(part.span.end_s, part.span.start_s + 0.001):.3f}"
    return {"source": where[part.source.recording], "selector": {"type": "FragmentSelector", "conformsTo": FRAGMENTS, "value": value}}


def manifest(recordings: Sequence[Recording], title: str, where: Mapping[str, str], address: str) -> dict[str, Any]:
    """An IIIF Presentation 3 manifest: a canvas a recording, with its sound painted on it. address: http(s), under which the package will lie."""
    base = address.rstrip("/")
    canvases = []
    for item in recordings:
        canvas, seconds = f"{base}/canvas/{quote(item.recording)}", item.duration / HEARING_RATE_HZ
        body = {"id": where[item.recording], "type": "Sound", "format": mimetypes.guess_type(item.path)[0] or "audio/wav", "duration": seconds}
        painting = {"id": f"{canvas}/sound", "type": "Annotation", "motivation": "painting", "body": body, "target": canvas}
        canvases.append({"id": canvas, "type": "Canvas", "duration": seconds, "label": {"none": [", ".join(filter(None, item.loops)) or item.recording]},
                         "items": [{"id": f"{canvas}/page", "type": "AnnotationPage", "items": [painting]}]})
    return {"@context": IIIF, "id": f"{base}/manifest.json", "type": "Manifest", "label": {"none": [title or "debrief"]}, "items": canvases}

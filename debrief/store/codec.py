"""Records as JSON and back, exactly: Decimal keeps its places, a flag stays a flag, a map a map."""
import json
from collections.abc import Mapping
from dataclasses import fields as record_fields
from decimal import Decimal
from typing import Any

from ..records.rows import Field, FieldValue, Part, Row
from ..records.sound import Source
from ..timebase import Span


def dumps(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def value_out(value: FieldValue) -> Any:
    """A field's value as JSON: {"d": "34.30"} for a Decimal, {"m": {...}} for a map, itself otherwise."""
    if isinstance(value, Decimal):
        return {"d": str(value)}
    if isinstance(value, Mapping):
        return {"m": dict(value)}
    return value


def value_in(value: Any) -> FieldValue:
    if isinstance(value, dict):
        return Decimal(value["d"]) if "d" in value else value["m"]
    return value


def part_out(part: Part) -> dict[str, Any]:
    out = {item.name: getattr(part, item.name) for item in record_fields(part) if getattr(part, item.name) is not None}
    if part.source is not None:
        out["source"] = [part.source.recording, part.source.channel]
    if part.span is not None:
        out["span"] = [part.span.start, part.span.end]
    return out


def part_in(data: Mapping[str, Any]) -> Part:
    data = dict(data)
    if "source" in data:
        data["source"] = Source(*data["source"])
    if "span" in data:
        data["span"] = Span(*data["span"])
    return Part(**data)


def field_out(field: Field) -> dict[str, Any]:
    return {"value": value_out(field.value), "origin": field.origin, "certainty": field.certainty, "part": field.part,
            "why": list(field.why), "others": [value_out(other) for other in field.others]}


def field_in(data: Mapping[str, Any]) -> Field:
    return Field(value_in(data["value"]), data["origin"], data["certainty"], data["part"], tuple(data["why"]),
                 tuple(value_in(other) for other in data["others"]))


def row_out(row: Row) -> str:
    """A whole row as JSON text."""
    return dumps({
        "kind": row.kind, "fields": {name: field_out(item) for name, item in row.fields.items()},
        "evidence": [part_out(part) for part in row.evidence], "loop": row.loop, "station": row.station, "turn": row.turn,
        "look": list(row.look), "doubt": list(row.doubt), "witnesses": dict(row.witnesses), "number": row.number,
    })


def row_in(text: str) -> Row:
    data = json.loads(text)
    return Row(data["kind"], {name: field_in(item) for name, item in data["fields"].items()},
               tuple(part_in(part) for part in data["evidence"]), data["loop"], data["station"], data["turn"],
               tuple(data["look"]), tuple(data["doubt"]), data["witnesses"], data["number"])


def source_columns(source: Source | None, span: Span | None) -> dict[str, Any]:
    """The four columns that place a thing in sound; all None where no sound is known."""
    return {"recording": source.recording if source else None, "channel": source.channel if source else None,
            "start": span.start if span else None, "end": span.end if span else None}


def source_of(row: Any) -> Source | None:
    return None if row["recording"] is None else Source(row["recording"], row["channel"])


def span_of(row: Any) -> Span | None:
    return None if row["start"] is None else Span(row["start"], row["end"])

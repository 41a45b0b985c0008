"""Records as JSON and back, exactly: Decimal keeps its places, a flag stays a flag, a map a map.

What comes back may be from a stranger's store: whatever this program never writes, times and values without end among it, is a StoreError.
"""
import json
from collections.abc import Callable, Mapping
from dataclasses import fields as record_fields
from decimal import Decimal
from functools import wraps
from math import isfinite
from typing import Any, ParamSpec, TypeVar, get_args

from ..errors import StoreError
from ..records.kinds import KINDS
from ..records.rows import CERTAINTIES, Field, FieldValue, Origin, Part, Row
from ..records.sound import Source
from ..timebase import Span

BREAKS = (ValueError, TypeError, LookupError, ArithmeticError, AttributeError, RecursionError)
"""What reading breaks with where a value is of another kind than this program writes."""
_Given = ParamSpec("_Given")
_Made = TypeVar("_Made")
_FARTHEST = 400
"""Powers of ten beyond which a value is no measurement: to write one out could take all memory."""
_MOST_S = 1e11
"""No session second lies farther from the first recording: starts are dates of three thousand years at most."""
_LONGEST = 16_000 * 100_000_000
"""No recording has more samples: three years."""
_PART_KINDS: Mapping[str, type | tuple[type, ...]] = {
    "role": str, "text": str, "segment": str, "first_word": int, "last_word": int, "line_index": int, "start_s": (int, float)}


def never_written(error: Exception, where: str) -> StoreError:
    return StoreError(f"it holds what this program never writes ({type(error).__name__}: {str(error)[:80]})", where,
                      "take the store from where it was made, or run the session again")


def as_we_write(read: Callable[_Given, _Made]) -> Callable[_Given, _Made]:
    """Around a function that makes records of what a store holds: what they cannot be made of becomes a StoreError, whatever breaks."""
    @wraps(read)
    def reading(*given: _Given.args, **more: _Given.kwargs) -> _Made:
        try:
            return read(*given, **more)
        except BREAKS as error:
            raise never_written(error, "the session's store") from error
    return reading


def finite(value: float | None) -> float | None:
    """The number itself. Raises ValueError for one without end, or beyond all time."""
    if value is not None and not (isfinite(value) and abs(value) <= _MOST_S):
        raise ValueError(f"{value} is no time")
    return value


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
        return _decimal(value["d"]) if "d" in value else value["m"]
    if isinstance(value, float) and not isfinite(value):
        raise ValueError(f"{value} is no measure")
    return value


def _decimal(text: str) -> Decimal:
    value = Decimal(text)
    if not value.is_finite() or abs(value.adjusted()) > _FARTHEST:
        raise ValueError(f"{text[:40]} is no measure")
    return value


def part_out(part: Part) -> dict[str, Any]:
    out = {item.name: getattr(part, item.name) for item in record_fields(part) if getattr(part, item.name) is not None}
    if part.source is not None:
        out["source"] = [part.source.recording, part.source.channel]
    if part.span is not None:
        out["span"] = [part.span.start, part.span.end]
    return out


@as_we_write
def part_in(data: Mapping[str, Any]) -> Part:
    data = dict(data)
    for name, kinds in _PART_KINDS.items():
        if name in data and (not isinstance(data[name], kinds) or isinstance(data[name], bool)):
            raise ValueError(f"{name} is {data[name]!r:.40}")
    finite(data.get("start_s"))
    if "source" in data:
        name, channel = data["source"]
        if not isinstance(name, str) or not isinstance(channel, int):
            raise ValueError(f"the source is {data['source']!r:.40}")
        data["source"] = Source(name, channel)
    if "span" in data:
        data["span"] = _span(*data["span"])
    return Part(**data)


def field_out(field: Field) -> dict[str, Any]:
    return {"value": value_out(field.value), "origin": field.origin, "certainty": field.certainty, "part": field.part,
            "why": list(field.why), "others": [value_out(other) for other in field.others]}


def field_in(data: Mapping[str, Any]) -> Field:
    if data["certainty"] not in CERTAINTIES or data["origin"] not in get_args(Origin):
        raise ValueError(f"{data['certainty']!r:.40} or {data['origin']!r:.40} is no word of ours")
    if data["part"] is not None and not isinstance(data["part"], int):
        raise ValueError(f"part {data['part']!r:.40} of the evidence")
    return Field(value_in(data["value"]), data["origin"], data["certainty"], data["part"], tuple(data["why"]),
                 tuple(value_in(other) for other in data["others"]))


def row_out(row: Row) -> str:
    """A whole row as JSON text."""
    return dumps({
        "kind": row.kind, "fields": {name: field_out(item) for name, item in row.fields.items()},
        "evidence": [part_out(part) for part in row.evidence], "loop": row.loop, "station": row.station, "turn": row.turn,
        "look": list(row.look), "doubt": list(row.doubt), "witnesses": dict(row.witnesses), "number": row.number,
    })


@as_we_write
def row_in(text: str) -> Row:
    data = json.loads(text)
    if not isinstance(data["number"], int | None) or not 0 < (data["number"] or 1) < 1 << 53:
        raise ValueError(f"{data['number']!r:.40} is no number of a row")
    if data["kind"] not in KINDS or not isinstance(data["witnesses"], dict):
        raise ValueError(f"{data['kind']!r:.40} is no kind of row, or its witnesses are no map")
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
    return None if row["start"] is None else _span(row["start"], row["end"])


def _span(start: int, end: int) -> Span:
    if end > _LONGEST:
        raise ValueError(f"{start} to {end} lies behind the end of any recording")
    return Span(start, end)

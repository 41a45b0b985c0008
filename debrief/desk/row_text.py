"""Rows in a line of words, as the sheet and the pages show them.

A unit or value that nobody spoke stands in [brackets]; a hedge, a range and a value left open are written out, never averaged.
"""
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal

from markupsafe import Markup

from ..records.rows import Certainty, FieldValue, Row
from ..timebase import hms
from ..unseen import shown_as
from .plain_grounds import plain, plain_all

SIGNS: dict[Certainty, str] = {"heard by a person": "✓", "repeated": "=", "clear": "○", "doubtful": "?"}
"""A sign beside the words, so that neither colour nor words stand alone."""


def one_line(text: str) -> str:
    """Text of others on one line, with characters that steer a terminal or turn the direction of text made visible."""
    return " ".join(shown_as(text).split())


def visible(value: object) -> object:
    """For templates: text of others with such characters made visible; text that is HTML already stays HTML."""
    if not isinstance(value, str):
        return value
    seen = shown_as(value)
    return Markup(seen) if isinstance(value, Markup) else seen  # noqa: S704 - it was Markup before


def time_of(row: Row) -> str:
    """Where the row stands: session time, else the line of the transcript."""
    place = row.place
    return hms(place.start_s) if place.start_s is not None else "" if place.line_index is None else f"line {place.line_index}"


def by_of(row: Row) -> str:
    return " on ".join(part for part in (row.station or "", row.loop or "") if part)


def line_of(row: Row) -> str:
    """A row on one line of a terminal: number, time, how sure, what, who, why to look."""
    by = f"  ({by_of(row)})" if by_of(row) else ""
    look = f"; look: {'; '.join(map(plain, row.look))}" if row.look else ""
    text = one_line(f"{row.kind}: {text_of(row)}{by}{look}")
    return f"{row.number or '':>5} {time_of(row):>9}  {SIGNS[row.certainty]} {row.certainty:<17}  {text}"


def lines_about(row: Row) -> Iterator[str]:
    """Everything a row holds: fields with their origin and grounds, and the evidence with its place in the sound."""
    yield line_of(row)
    for name, item in row.fields.items():
        if item.value is None:
            continue
        others = f"; could be {', '.join(shown(other) for other in item.others)}" if item.others else ""
        why = f"; {'; '.join(plain_all(item.why))}" if item.why else ""
        yield one_line(f"{name} = {shown(item.value)}  [{item.origin}, {item.certainty}{others}{why}]")
    for part in row.evidence:
        sound = f" {part.source.recording} channel {part.source.channel + 1}, {part.span.start_s:.2f} to {part.span.end_s:.2f} s" \
            if part.source and part.span else "" if part.line_index is None else f" line {part.line_index}"
        yield one_line(f"{part.role}:{sound} {part.text!r}")
    if row.doubt:
        yield one_line(f"in doubt: {'; '.join(map(plain, row.doubt))}")


def shown(value: FieldValue) -> str:
    """A value as people read it: numbers with the places that were said, maps as name=value."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return format(value, "f")
    return condition(value) if isinstance(value, Mapping) else str(value)


def condition(value: Mapping[str, str]) -> str:
    return ", ".join(f"{name} {item}" for name, item in value.items())


def text_of(row: Row) -> str:
    """What the row says, in one line."""
    maker = _MAKERS.get(row.kind)
    return (maker(row) if maker else "") or _plain(row) or row.place.text


def _plain(row: Row) -> str:
    return ", ".join(f"{name.replace('_', ' ')} {shown(item.value)}" for name, item in row.fields.items()
                     if item.value not in (None, "", False))


def _get(row: Row, name: str) -> str:
    return shown(row.get(name))


def _joined(*parts: str, by: str = " ") -> str:
    return by.join(part for part in parts if part)


def unit_of(row: Row, name: str = "unit") -> str:
    """The unit; in brackets when it was not spoken."""
    item = row.fields.get(name)
    if item is None or not item.value:
        return ""
    return str(item.value) if item.origin in ("spoken", "person") else f"[{item.value}]"


def value_of(row: Row) -> str:
    """The value with its upper end, its second reading and what softens it."""
    high, other = _get(row, "value_high"), _get(row, "value_alt")
    value = _get(row, "value_text") or _get(row, "value")
    value = f"{value} to {high}" if high else f"{value} or {other}" if other else value
    about = "about " if row.get("approximate") else ""
    return _joined(f"{about}{value}", unit_of(row))


def _readout(row: Row) -> str:
    parameter, subject = _get(row, "parameter") or "unnamed value", _get(row, "subject")
    of = f"({subject})" if subject and subject.casefold() not in parameter.casefold() else ""
    kind = _get(row, "class")
    return _joined(parameter, of, value_of(row), f"- {kind}" if kind and kind != "measured" else "", "- past" if row.get("past") else "",
                   "- superseded" if row.get("superseded") else "")


def _rating(row: Row) -> str:
    held = row.get("condition")
    return _joined(_get(row, "axis") or "unnamed axis", value_of(row), f"by {_get(row, 'subject')}" if row.get("subject") else "",
                   "- hedged" if row.get("hedge") else "", "- superseded" if row.get("superseded") else "",
                   f"({condition(held)})" if isinstance(held, Mapping) and held else "")


def _poll(row: Row) -> str:
    by = f"(given by {_get(row, 'given_by')})" if row.get("given_by") else ""
    answer = "no answer" if row.get("answer") == "none" else _get(row, "answer")
    reason = f"- {_get(row, 'reason')}" if row.get("reason") else ""
    asked = f"to: {_get(row, 'question')}" if row.get("question") else ""
    return _joined(f"{_get(row, 'station') or 'station not known'}: {answer}", by, reason, f"- if {_get(row, 'condition')}" if row.get("condition") else "",
                   "- late" if row.get("late") else "", asked)


def _read_back(row: Row) -> str:
    verdict = _get(row, "verdict") or ("right" if row.get("match") else "wrong")
    said, back = _get(row, "said"), _get(row, "readback")
    pair = f"said {said}, read back {back}" if said or back else _get(row, "item")
    return _joined(pair, f"- {verdict}", "- then corrected" if row.get("corrected") else "")


def _length(row: Row, name: str) -> str:
    value = row.get(name)
    return "" if value is None else hms(float(value))  # type: ignore[arg-type]


def _clock_call(row: Row) -> str:
    told = "mark" if row.get("mark") else _length(row, "offset_s") or (f"{_length(row, 'remaining_s')} left" if row.get("remaining_s")
                                                                       is not None else "")
    residual, verdict = row.get("residual_s"), _get(row, "verdict")
    judged = f"- {verdict}" if verdict else ""
    off = f", {float(residual):+.1f} s" if residual is not None and verdict else ""  # type: ignore[arg-type]
    return _joined(f"{_get(row, 'clock') or 'unnamed clock'}: {told}", f"{judged}{off}")


def _clock_event(row: Row) -> str:
    reads = f"at {_length(row, 'reading_s')}" if row.get("reading_s") else ""
    return _joined(f"{_get(row, 'clock') or 'unnamed clock'}: {_get(row, 'event')}", reads)


def _step(row: Row) -> str:
    card = f"card {_get(row, 'card')}," if row.get("card") else ""
    return _joined(card, f"step {_get(row, 'step')}:" if row.get("step") else "", _get(row, "event"))


def _open_item(row: Row) -> str:
    closed = row.get("closed_s") is not None or row.get("closed_line") is not None
    return _joined(f"{_get(row, 'owner') or 'nobody named'}:", _get(row, "what"), "- closed" if closed else "- open")


def _anomaly(row: Row) -> str:
    resolved = row.get("resolved_s") is not None or row.get("resolved_line") is not None
    where = _get(row, "location")
    at = f"({where})" if where and where.casefold() not in _get(row, "what").casefold() else ""
    return _joined(_get(row, "what"), at, "- resolved" if resolved else "- not resolved")


def _coverage(row: Row) -> str:
    held = row.get("condition")
    return _joined(f"card {_get(row, 'card')}," if row.get("card") else "", f"{_get(row, 'item')}:", _get(row, "what"),
                   f"by {_get(row, 'subject')}" if row.get("subject") else "",
                   f"({condition(held)})" if isinstance(held, Mapping) and held else "", f"- {_get(row, 'state') or 'not heard'}")


def _time(row: Row) -> str:
    return _joined(_get(row, "kind").replace("_", " "), _get(row, "get") or _length(row, "seconds"), f"({_get(row, 'text')})"
                   if row.get("text") else "")


def _stop(row: Row) -> str:
    released = row.get("released_s") is not None or row.get("released_line") is not None
    return _joined(f"stop: {_get(row, 'what')}", f"- {_get(row, 'reason')}" if row.get("reason") else "",
                   "- released" if released else "- no release heard")


def _comparison(row: Row) -> str:
    return _joined(_get(row, "parameter"), _get(row, "difference"), unit_of(row), _get(row, "direction"),
                   f"than {_get(row, 'reference')}" if row.get("reference") else "")


def _exceedance(row: Row) -> str:
    bound = {"max": "over", "min": "under"}.get(_get(row, "bound"), "beyond")
    return _joined(_get(row, "parameter"), value_of(row), f"{bound} its limit of {_get(row, 'limit')}" if row.get("limit") is not None else "")


_MAKERS: dict[str, Callable[[Row], str]] = {
    "readouts": _readout, "ratings": _rating, "polls": _poll, "readbacks": _read_back, "clock_calls": _clock_call,
    "clock_events": _clock_event, "steps": _step, "open_items": _open_item, "anomalies": _anomaly, "coverage": _coverage, "times": _time,
    "stop_calls": _stop, "comparisons": _comparison, "exceedances": _exceedance,
    "qualitative": lambda row: _joined(_get(row, "subject"), _get(row, "parameter"), _get(row, "state")),
    "events": lambda row: _joined(f"{_get(row, 'kind').replace('_', ' ')}:", _get(row, "what")),
    "time_hacks": lambda row: _joined("the time is", _get(row, "get"), _get(row, "zone")),
    "identifiers": lambda row: _joined(_get(row, "what"), _get(row, "value")),
    "decisions": lambda row: _get(row, "what"),
    "remarks": lambda row: _joined(f"on {_get(row, 'about')}:" if row.get("about") else "", _get(row, "text")),
}

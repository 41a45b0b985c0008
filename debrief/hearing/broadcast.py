"""The start that a Broadcast WAV gives of itself in its `bext` chunk (EBU Tech 3285, version 2, 2011).

TimeReference counts samples since midnight to the first sample; OriginationDate and OriginationTime are text, ten and eight characters, with
any of - _ : space or full stop between their parts. Many recorders leave TimeReference at zero and write only the time: then that counts, to the
second. With both at zero nothing is known, since a file that begins at midnight and one that was never set look alike. The standard
names no time zone: the start is taken as UTC, and every recording that uses it says so in its notes.
"""
import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from ..timebase import YEARS
from .recording import Probe

APART_S = 2.0
"""OriginationTime is written in whole seconds and when the file was opened: so far from TimeReference it is worth telling."""


@dataclass(frozen=True, slots=True)
class BroadcastStart:
    """start: of the first sample; uncertainty_s: half-width; says: where it comes from, and what does not agree."""

    start: datetime
    uncertainty_s: float
    says: str


def broadcast_start(info: Probe) -> BroadcastStart | None:
    """None where the file has no such chunk, or one without a date that can be read, or without any time."""
    if info.container not in ("wav", "w64"):
        return None
    midnight = _midnight(info.tags.get("date") or info.tags.get("origination_date") or "")
    counted = _samples(info.tags.get("time_reference") or "", info.rate_hz)
    written = _time(info.tags.get("creation_time") or info.tags.get("origination_time") or "")
    if midnight is None or not (counted or written):
        return None
    zone = "the standard names no time zone, it is taken as UTC"
    if not counted:
        assert written is not None
        return BroadcastStart(midnight + written, 1.0, f"start from the OriginationTime of its Broadcast WAV chunk, to the second (TimeReference is 0); {zone}")
    offset = timedelta(seconds=counted / info.rate_hz)
    apart = "" if written is None or abs((offset - written) / timedelta(seconds=1)) <= APART_S else \
        f"; its OriginationTime says {written} instead"
    return BroadcastStart(midnight + offset, 0.5 / info.rate_hz, f"start from the TimeReference of its Broadcast WAV chunk; {zone}{apart}")


def _midnight(text: str) -> datetime | None:
    try:
        year, month, day = (int(part) for part in re.split(r"\D", text.strip()[:10]))
        return datetime(year, month, day, tzinfo=UTC) if year in YEARS else None
    except (ValueError, OverflowError):
        return None


def _samples(text: str, rate_hz: int) -> int:
    """0 for none, and for more samples than a day and the next have: then it was never set, or is damaged."""
    counted = int(text) if text.strip().isdecimal() and len(text) < 20 else 0
    return counted if counted < 2 * 86_400 * rate_hz else 0


def _time(text: str) -> timedelta | None:
    """'10:00:00' with any separators; None for none, for midnight (not set) and for what is no time of day."""
    found = re.fullmatch(r"(\d\d)\D(\d\d)\D(\d\d)", text.strip()[-8:])
    if not found:
        return None
    hours, minutes, seconds = map(int, found.groups())
    return timedelta(hours=hours, minutes=minutes, seconds=seconds) or None if hours < 24 and minutes < 60 and seconds < 60 else None

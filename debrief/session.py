"""The session file: who was on which loop, what was planned, which scales, limits and clocks apply.

Only `recordings` is required. Unknown keys are warnings with the nearest known key, never refusals.
"""
import difflib
import tomllib
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from .errors import Fault, SessionFileError


class _Part(BaseModel):
    model_config = ConfigDict(extra="allow", frozen=True)


class RecordingEntry(_Part):
    """A sound file. channels: the loop on each; start: wall clock of its first sample."""

    file: str
    channels: tuple[str, ...] = ()
    start: datetime | None = None
    start_uncertainty_s: float | None = None


class Loop(_Part):
    name: str
    code: str | None = None
    channel: int | None = None
    priority: int | None = None


class Station(_Part):
    """A position or person. short: its code in transcripts; rates: gives ratings; commentary: talks to the public."""

    name: str
    short: str | None = None
    role: str = ""
    loops: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()
    rates: bool = False
    commentary: bool = False


class Scale(_Part):
    name: str
    low: float
    high: float
    best: float | None = None
    whole_numbers: bool = False
    note: str = ""


class Step(_Part):
    id: str
    text: str = ""


class PlannedRating(_Part):
    axes: tuple[str, ...]
    scale: str | None = None
    by: tuple[str, ...] = ()
    each: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    when: dict[str, str] = Field(default_factory=dict)


class PlannedReadout(_Part):
    what: str
    unit: str | None = None
    subject: str | None = None
    also_called: tuple[str, ...] = ()


class Card(_Part):
    id: str
    title: str = ""
    spoken: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    ratings: tuple[PlannedRating, ...] = ()
    readouts: tuple[PlannedReadout, ...] = ()


class Limit(_Part):
    what: str
    unit: str | None = None
    min: float | None = None
    max: float | None = None
    applies_to: str | None = None


class ClockPlan(_Part):
    name: str
    starts: str | None = None
    from_: str | None = Field(default=None, alias="from")
    counts: str = "up"
    from_s: float | None = None
    limit_s: float | None = None
    limit_min: float | None = None
    limit_note: str = ""


class PollWords(_Part):
    go: tuple[str, ...] = ("GO",)
    no_go: tuple[str, ...] = ("NO GO",)
    stand_by: tuple[str, ...] = ("stand by",)


class Session(_Part):
    title: str = ""
    place: str = ""
    recordings: tuple[RecordingEntry, ...] = ()
    units: dict[str, str] = Field(default_factory=dict)
    poll_words: PollWords = Field(default_factory=PollWords)
    loops: tuple[Loop, ...] = ()
    stations: tuple[Station, ...] = ()
    scales: tuple[Scale, ...] = ()
    cards: tuple[Card, ...] = ()
    limits: tuple[Limit, ...] = ()
    clocks: tuple[ClockPlan, ...] = ()

    @field_validator("recordings", mode="before")
    @classmethod
    def _names_or_tables(cls, given: Any) -> Any:
        return [{"file": item} if isinstance(item, str) else item for item in given] if isinstance(given, list) else given

    def station(self, name: str | None) -> Station | None:
        """The station with this name, short form or alias (case does not count)."""
        if not name:
            return None
        wanted = name.casefold()
        for station in self.stations:
            if wanted in {n.casefold() for n in (station.name, station.short or station.name, *station.aliases)}:
                return station
        return None


def load_session(path: Path) -> tuple[Session, list[Fault]]:
    """Read a session file; returns it and its warnings. Raises SessionFileError with every fault at once."""
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise SessionFileError("no such session file", str(path), "give the TOML file or the folder that holds it") from None
    except tomllib.TOMLDecodeError as error:
        raise SessionFileError(f"not valid TOML: {error}", str(path), "mend that line") from error
    try:
        session = Session.model_validate(data)
    except ValidationError as error:
        faults = [Fault(item["msg"], ".".join(str(p) for p in item["loc"])) for item in error.errors()]
        raise SessionFileError("the session file has faults", str(path), "mend them and run again", faults) from error
    return session, list(_unknown_keys(session, ""))


def _unknown_keys(part: BaseModel, path: str):
    known = [info.alias or name for name, info in type(part).model_fields.items()]
    for key in part.model_extra or {}:
        near = difflib.get_close_matches(key, known, 1)
        yield Fault("unknown key", f"{path}{key}", hint=f"did you mean {near[0]!r}?" if near else "", warning=True)
    for name in type(part).model_fields:
        value = getattr(part, name)
        for index, item in enumerate(value if isinstance(value, tuple) else (value,)):
            if isinstance(item, BaseModel):
                yield from _unknown_keys(item, f"{path}{name}{f'[{index}]' if isinstance(value, tuple) else ''}.")

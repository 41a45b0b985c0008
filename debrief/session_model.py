"""What a session file may say: who was on which loop, what was planned, which scales, limits and clocks apply.

Only `recordings` is required, and only to hear; every other part improves the result. Unknown keys are warnings with the nearest
known key, never refusals. Numbers are never guessed from text ("3" is no number); a name may be written as a whole number, and a
list of one as its only item. Seconds may be written as a number or as "h:mm:ss".
"""
from collections.abc import Iterator
from datetime import datetime
from pathlib import PureWindowsPath
from typing import Annotated, Any, Literal, TypeVar

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, field_validator

from .timebase import YEARS, clock_seconds

T = TypeVar("T")
MOST_SECONDS = 1e9


def _named(given: Any) -> Any:
    return str(given) if isinstance(given, int) and not isinstance(given, bool) else given


def _listed(given: Any) -> Any:
    if isinstance(given, list):
        return tuple(given)
    return (given,) if isinstance(given, str | dict) else given


def _seconds(given: Any) -> Any:
    if not isinstance(given, str):
        return given
    seconds = clock_seconds(given)
    if seconds is None:
        raise ValueError('seconds are a number or "h:mm:ss"')
    return seconds


def _on_some_clock(seconds: float) -> float:
    if abs(seconds) > MOST_SECONDS:
        raise ValueError(f"{seconds:g} s is more than any clock here counts ({MOST_SECONDS:,.0f} s are 31 years; are these samples, or milliseconds?)")
    return seconds


def _instant(given: Any) -> Any:
    return datetime.fromisoformat(given) if isinstance(given, str) else given


def _in_some_year(given: datetime) -> datetime:
    if given.year not in YEARS:
        raise ValueError(f"the year {given.year} is none of a recording ({YEARS[0]} to {YEARS[-1]})")
    return given


Name = Annotated[str, BeforeValidator(_named)]
Names = Annotated[tuple[Name, ...], BeforeValidator(_listed)]
Many = Annotated[tuple[T, ...], BeforeValidator(_listed)]
Seconds = Annotated[float, BeforeValidator(_seconds), AfterValidator(_on_some_clock)]
Instant = Annotated[datetime, BeforeValidator(_instant), AfterValidator(_in_some_year)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="allow", frozen=True, strict=True, allow_inf_nan=False, populate_by_name=True)


class RecordingEntry(_Part):
    """A sound file. channels: the loop on each ('' = several, mixed); start: wall clock of its first sample.

    offset_s: session second at which it begins, where no wall clock is known; rate: its seconds per session second (a recorder that
    gains 2 s an hour: 1.00055556); series: files of the same series follow one another, gap_s after the one before.
    """

    file: str
    channels: Names = ()
    start: Instant | None = None
    start_uncertainty_s: Seconds | None = Field(default=None, ge=0)
    offset_s: Seconds | None = None
    rate: float | None = Field(default=None, gt=0.9, lt=1.1)
    series: Name | None = None
    gap_s: Seconds | None = Field(default=None, ge=0)


class Loop(_Part):
    """A channel of talk. channel: which channel of a single recording, counted from 1; priority: 1 is heard and listed first."""

    name: Name
    code: Name | None = None
    channel: int | None = Field(default=None, ge=1)
    priority: int | None = None


class Station(_Part):
    """A position or person. short: its code in transcripts; rates: gives ratings; commentary: talks to the public.

    person: who sits there at the start (see Change).
    """

    name: Name
    short: Name | None = None
    role: str = ""
    loops: Names = ()
    aliases: Names = ()
    rates: bool = False
    commentary: bool = False
    person: str | None = None


class Change(_Part):
    """From at_s (session seconds) or at (wall clock) on, this person sits at the station."""

    station: Name
    person: str
    at_s: Seconds | None = None
    at: Instant | None = None
    note: str = ""


class Excluded(_Part):
    """Sound that is never decoded: of one recording (from_s, to_s: seconds of that file) or loop (session seconds), or both.

    Without from_s it begins at the start, without to_s it goes on to the end.
    """

    recording: str | None = None
    loop: Name | None = None
    from_s: Seconds | None = Field(default=None, ge=0)
    to_s: Seconds | None = Field(default=None, ge=0)
    why: str = ""


class Scale(_Part):
    name: Name
    low: float
    high: float
    best: float | None = None
    whole_numbers: bool = False
    note: str = ""


class Step(_Part):
    id: Name
    text: str = ""


class PlannedRating(_Part):
    axes: Names
    scale: Name | None = None
    by: Names = ()
    each: dict[str, Names] = Field(default_factory=dict)
    when: dict[str, Name] = Field(default_factory=dict)
    medical: bool = False


class PlannedReadout(_Part):
    what: str
    unit: str | None = None
    subject: Name | None = None
    also_called: Names = ()
    medical: bool = False


class Card(_Part):
    id: Name
    title: str = ""
    spoken: Names = ()
    steps: Many[Step] = ()
    ratings: Many[PlannedRating] = ()
    readouts: Many[PlannedReadout] = ()


class Parameter(_Part):
    """What is known of a parameter wherever it is spoken. medical: left out of copies for distribution unless asked for."""

    what: str
    unit: str | None = None
    subject: Name | None = None
    also_called: Names = ()
    medical: bool = False


class Limit(_Part):
    what: str
    unit: str | None = None
    min: float | None = None
    max: float | None = None
    applies_to: str | None = None


class Relation(_Part):
    """What must hold between values. dew point: of `of` from temperature and humidity; sum: of is the sum of its parts; falls, rises:
    `of` only moves that way. tolerance: in the unit of `of`."""

    kind: Literal["dew point", "sum", "falls", "rises"]
    of: str
    from_: Names = Field(default=(), alias="from")
    tolerance: float = Field(default=0.0, ge=0)


class ClockPlan(_Part):
    name: Name
    starts: str | None = None
    from_: Name | None = Field(default=None, alias="from")
    counts: str = "up"
    from_s: Seconds | None = None
    limit_s: Seconds | None = None
    limit_min: float | None = None
    limit_note: str = ""


class PollWords(_Part):
    go: Names = ("GO",)
    no_go: Names = ("NO GO",)
    stand_by: Names = ("stand by",)


class Session(_Part):
    """Everything a session file may say. campaign, cards_from: files beside it whose parts were merged in when it was loaded."""

    title: str = ""
    place: str = ""
    recordings: Many[RecordingEntry] = ()
    units: dict[str, str] = Field(default_factory=dict)
    poll_words: PollWords = Field(default_factory=PollWords)
    loops: Many[Loop] = ()
    stations: Many[Station] = ()
    scales: Many[Scale] = ()
    cards: Many[Card] = ()
    limits: Many[Limit] = ()
    relations: Many[Relation] = ()
    clocks: Many[ClockPlan] = ()
    parameters: Many[Parameter] = ()
    changes: Many[Change] = ()
    excluded: Many[Excluded] = ()
    reference_run: str | None = None
    lexicon: Names = ()
    checks_off: Names = ()
    campaign: str | None = None
    cards_from: str | None = None

    @field_validator("recordings", mode="before")
    @classmethod
    def _names_or_tables(cls, given: Any) -> Any:
        listed = _listed(given)
        return tuple({"file": item} if isinstance(item, str) else item for item in listed) if isinstance(listed, tuple) else given

    def station(self, name: str | None) -> Station | None:
        """The station with this name, short form or alias (case does not count)."""
        if not name:
            return None
        wanted = name.casefold()
        return next((station for station in self.stations if wanted in names_of(station)), None)

    def loop(self, name: str | None) -> Loop | None:
        """The loop with this name or code (case does not count)."""
        wanted = (name or "").casefold()
        return next((loop for loop in self.loops if wanted in {loop.name.casefold(), (loop.code or loop.name).casefold()}), None)

    def loops_of(self, entry: RecordingEntry, channels: int) -> tuple[str, ...]:
        """The loop on each of a recording's channels; '' where several are mixed or none is known."""
        if entry.channels:
            return entry.channels
        if channels == 1 and len(self.loops) == 1:
            return (self.loops[0].name,)
        numbered = {loop.channel: loop.name for loop in self.loops if loop.channel}
        alone = len(self.recordings) == 1
        return tuple(numbered.get(channel, "") if alone else "" for channel in range(1, channels + 1))

    def medical_names(self) -> frozenset[str]:
        """Names (case folded) of all parameters and axes that are tagged medical."""
        return frozenset(name.casefold() for name in self._medical())

    def _medical(self) -> Iterator[str]:
        known: list[Parameter | PlannedReadout] = [*self.parameters, *(readout for card in self.cards for readout in card.readouts)]
        for parameter in known:
            if parameter.medical:
                yield from (parameter.what, *parameter.also_called)
        yield from (axis for card in self.cards for rating in card.ratings if rating.medical for axis in rating.axes)

    def person_at(self, station: str, session_s: float | None = None, wall: datetime | None = None) -> str | None:
        """Who sat at a station at a session second (or wall clock time); the last change before that moment decides."""
        found = self.station(station)
        if found is None:
            return None
        person = found.person
        for change in self.changes:
            if self.station(change.station) == found and _is_past(change, session_s, wall):
                person = change.person
        return person


def names_of(station: Station) -> set[str]:
    """Every name of a station, case folded."""
    return {name.casefold() for name in (station.name, station.short or station.name, *station.aliases)}


def _is_past(change: Change, session_s: float | None, wall: datetime | None) -> bool:
    if change.at_s is not None and session_s is not None:
        return change.at_s <= session_s
    return change.at is not None and wall is not None and change.at <= wall


def base_name(file: str) -> str:
    """The last part of a file name, written with either kind of slash."""
    return PureWindowsPath(file).name

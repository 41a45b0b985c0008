"""What the page may ask and send, as models: they check every request and they describe the interface (description.py).

Every text has a longest length, every number a range, and no key is taken that is not named here. Deeds carry the name of the person and,
for each row, the revision that the person saw.
"""
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field


def _named(who: str) -> str:
    if not who.strip():
        raise ValueError("nobody is named")
    return who.strip()


MOST_ROWS, MOST_WHOLE = 200, 2 ** 53
Key = Annotated[str, Field(pattern=r"^[rp][0-9]{1,12}$", description="an entry of the list: r and a row's number, or p and a place's")]
Whole = Annotated[int, Field(ge=0, le=MOST_WHOLE)]
RowNumber = Annotated[int, Field(ge=1, le=MOST_WHOLE)]
Seconds = Annotated[float, Field(ge=-1e9, le=1e9, allow_inf_nan=False)]
Name = Annotated[str, Field(min_length=1, max_length=80), AfterValidator(_named)]
Words = Annotated[str, Field(max_length=2000)]
Choice = Annotated[list[Annotated[str, Field(max_length=300)]], Field(max_length=50)]
Values = Annotated[dict[Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[\w.]+$")], Words], Field(max_length=40)]
Order = Literal["listening", "time"]
Shown = Literal["left", "standing", "rejected", "all"]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Nothing(_Strict):
    """A request without anything to say."""


class Filter(_Strict):
    """Which entries: an empty choice means all. left: neither heard by a person nor rejected."""

    shown: Shown = "standing"
    kind: Choice = []
    loop: Choice = []
    station: Choice = []
    certainty: Choice = []
    why: Choice = []
    from_s: Seconds | None = None
    to_s: Seconds | None = None
    words: Annotated[str, Field(max_length=300)] = ""


class RowsQuery(Filter):
    """One page of the list: the first, or the one after, before or around an entry. keys: only these entries, whatever the filter."""

    order: Order = "listening"
    after: Key | None = None
    before: Key | None = None
    around: Key | None = None
    keys: Annotated[list[Key], Field(max_length=MOST_ROWS)] = []
    limit: Annotated[int, Field(ge=1, le=MOST_ROWS)] = 60


class TalkQuery(_Strict):
    """The turns around one: by its index, or by a moment of a channel (samples at 16 kHz)."""

    turn: Whole | None = None
    recording: Annotated[str, Field(max_length=40)] | None = None
    channel: Annotated[int, Field(ge=0, le=1000)] = 0
    start: Whole = 0
    around: Annotated[int, Field(ge=0, le=60)] = 8


class PassageQuery(_Strict):
    """The row whose passage is asked for."""

    number: RowNumber


class ChangesQuery(_Strict):
    since: Annotated[str, Field(max_length=300)] = ""


class Seen(_Strict):
    """A row as the person saw it."""

    number: RowNumber
    revision: Whole


class Place(_Strict):
    """A stretch of sound: samples at 16 kHz on the recording's own clock; or, where there is no sound, a turn of the transcript."""

    recording: Annotated[str, Field(max_length=40)] | None = None
    channel: Annotated[int, Field(ge=0, le=1000)] = 0
    start: Whole = 0
    end: Whole = 0
    turn: Whole | None = None


class _Deed(_Strict):
    who: Name


class Decide(_Deed):
    """Accept or reject: the row as seen."""

    revision: Whole
    note: Words = ""


class AcceptTogether(_Deed):
    """Rows whose sound was heard in one playing, all of them right: one deed."""

    rows: Annotated[list[Seen], Field(min_length=1, max_length=60)]


class Change(Decide):
    """Fields to set, as typed; an empty text empties a field; condition.hand sets one entry of a map."""

    values: Values


class Rename(_Deed):
    """A name for one field of several rows, as after a change of a row (its number) that had the same name. Nobody has heard them by that."""

    field: Annotated[str, Field(max_length=40)]
    value: Annotated[str, Field(min_length=1, max_length=300)]
    after: RowNumber
    rows: Annotated[list[Seen], Field(min_length=1, max_length=60)]


class Split(_Deed):
    """Two rows or more out of one: the fields that each sets."""

    revision: Whole
    parts: Annotated[list[Values], Field(min_length=2, max_length=10)]


class Merge(_Deed):
    """Rows into the first of them."""

    rows: Annotated[list[Seen], Field(min_length=2, max_length=20)]


class Add(_Deed):
    """A row by hand over marked sound."""

    kind: Annotated[str, Field(max_length=40)]
    place: Place
    values: Values
    station: Annotated[str, Field(max_length=200)] = ""
    note: Words = ""


class Undo(_Deed):
    """The person's last deed, or the one named."""

    deed: RowNumber | None = None


class HeardPlace(_Deed):
    """A place of the listening list that gave no row was heard and holds nothing; heard: false takes that back."""

    place: Whole
    heard: bool = True


class Sign(_Deed):
    """Sign-off of the session as it stands: token is the state that the person saw."""

    token: Annotated[str, Field(max_length=300)]

"""What wording and conversation hand on: tokens with both readings, and turns."""
import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from ..timebase import Span
from .sound import Source

_EDGES = re.compile(r"^[^\w+\-%°']+|[^\w%°']+$")


@dataclass(frozen=True, slots=True)
class Token:
    """One word: text is what it is read as, heard what the recogniser wrote; why says what changed it ('' = nothing)."""

    text: str
    heard: str
    segment: str
    word: int
    span: Span | None = None
    probability: float | None = None
    why: str = ""

    @property
    def norm(self) -> str:
        """The word in lower case without punctuation at its edges ('Red,' -> 'red')."""
        return _EDGES.sub("", self.text).lower().replace("’", "'")

    @property
    def ends_sentence(self) -> bool:
        return self.text.rstrip("\"'”)").endswith((".", "?", "!", "..."))

    @property
    def ends_clause(self) -> bool:
        return self.text.rstrip("\"'”)").endswith((".", "?", "!", ",", ";", ":", "...", "—"))


@dataclass(frozen=True, slots=True)
class Turn:
    """One stretch of speech by one station.

    start_s, end_s: session seconds (None when unknown); station: the station's name in the session file, else the speaker code as
    given, else None; attribution: why that station; addressee: whom it speaks to. commentary: talk to the public.
    answers: index of the turn it replies to; set_aside: why it may give no rows ('' = used), such as a copy heard on another loop.
    """

    index: int
    tokens: tuple[Token, ...]
    station: str | None = None
    addressee: str | None = None
    loop: str | None = None
    start_s: float | None = None
    end_s: float | None = None
    line_index: int | None = None
    source: Source | None = None
    span: Span | None = None
    commentary: bool = False
    attribution: tuple[str, ...] = ()
    answers: int | None = None
    set_aside: str = ""

    @property
    def text(self) -> str:
        return " ".join(token.text for token in self.tokens)


NumberForm = Literal["cardinal", "digits", "decimal", "fraction", "ordinal", "figures", "range"]


@dataclass(frozen=True, slots=True)
class Number:
    """A spoken number over tokens [start, end) of a turn.

    value: exact, places kept (Decimal('34.30')); text: the digits as said, zeros kept ('014'); value_high: upper end of a range;
    others: further fair readings ('five forty' 540, 5.40); signed: a sign was spoken; pieces: the values of a list that was taken for one
    digit string ('1, 8, 8'), for those who know that a list is due; alike: a word that sounds like a digit is read as one ('point ate').
    """

    start: int
    end: int
    value: Decimal
    text: str
    form: NumberForm
    value_high: Decimal | None = None
    others: tuple[Decimal, ...] = ()
    signed: bool = False
    pieces: tuple[Decimal, ...] = ()
    alike: bool = False


TimeKind = Literal["mark", "clock", "event_time", "countdown", "elapsed", "duration"]


@dataclass(frozen=True, slots=True)
class SpokenTime:
    """A spoken time over tokens [start, end). seconds: its length or offset (signed); get: 'hh:mm:ss' of a clock time.

    bare: no unit was said ('plus nineteen'), minutes are the likelier reading; others: further fair readings, in seconds.
    """

    start: int
    end: int
    kind: TimeKind
    seconds: Decimal | None = None
    seconds_high: Decimal | None = None
    get: str | None = None
    approximate: bool = False
    bare: bool = False
    others: tuple[Decimal, ...] = ()

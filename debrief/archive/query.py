"""What a person asks of an archive, checked: words, who, what kind, values with units, times, certainty."""
import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal, InvalidOperation

from ..errors import InputError
from ..records.kinds import KINDS
from ..records.rows import CERTAINTIES
from .plain import plain, squeezed
from .reading import measure

_AMOUNT = re.compile(r"\s*([+-]?\d[\d,]*(?:\.\d+)?|[+-]?\.\d+)\s*(.*?)\s*")


@dataclass(frozen=True, slots=True)
class Amount:
    """A bound as asked for: its dimension ('' without a unit) and its value in SI."""

    text: str
    dimension: str
    value: float


@dataclass(frozen=True, slots=True)
class Query:
    """One question. Empty means all. fields: (name, text) that must be equal; low, high: bounds, inclusive only for `between`.

    utc_from, utc_to: seconds since 1970 UTC; at_least: a row must be at least so certain; every_class: also limits, plans, targets and
    values corrected later; first: only the first place in each session, or in all ('session', 'archive').
    """

    words: str = ""
    sounds_like: bool = False
    of: str = ""
    kinds: tuple[str, ...] = ()
    stations: tuple[str, ...] = ()
    loops: tuple[str, ...] = ()
    sessions: tuple[str, ...] = ()
    parameter: str = ""
    fields: tuple[tuple[str, str], ...] = ()
    low: Amount | None = None
    high: Amount | None = None
    inclusive: bool = False
    utc_from: float | None = None
    utc_to: float | None = None
    at_least: str = ""
    every_class: bool = False
    copies: bool = False
    first: str = ""
    limit: int = 50

    @property
    def of_rows(self) -> bool:
        """Whether rows are looked for; else the talk itself."""
        return self.of == "rows" or bool(self.kinds or self.parameter or self.fields or self.low or self.high or self.at_least)

    @property
    def timed(self) -> bool:
        """Whether a time on the wall clock is asked for."""
        return self.utc_from is not None or self.utc_to is not None

    @property
    def some_sessions(self) -> bool:
        """Whether some sessions may be left out."""
        return bool(self.sessions) or self.timed

    @property
    def dimension(self) -> str | None:
        bound = self.low or self.high
        return bound.dimension if bound else None


def amount(text: str) -> Amount:
    """'5 psi', '-3', '120kPa'. InputError for anything else."""
    found = _AMOUNT.fullmatch(text)
    try:
        value = Decimal((found[1] if found else "").replace(",", ""))
    except InvalidOperation:
        raise InputError(f"{text!r} is no value", todo='write a number and its unit, such as "5 psi"') from None
    assert found
    dimension, values = measure(found[2] or None, [value])
    return Amount(text.strip(), dimension, values[0])


def bounds(below: str | None, above: str | None, between: tuple[str, str] | None) -> tuple[Amount | None, Amount | None, bool]:
    """(low, high, inclusive). InputError where they do not go together; the unit may be left out of one of two."""
    if between and (below or above):
        raise InputError("--between stands alone", todo="leave out --below and --above")
    low, high = between or (above, below)
    texts = [low, high]
    if low and high:
        units = [_AMOUNT.sub(r"\2", text) for text in (low, high)]
        texts = [f"{low} {units[1]}" if not units[0] else low, f"{high} {units[0]}" if not units[1] else high]
    made = [amount(text) if text else None for text in texts]
    if made[0] and made[1]:
        if made[0].dimension != made[1].dimension:
            raise InputError(f"{low!r} and {high!r} do not measure the same", todo="give both in units of one dimension")
        if made[0].value > made[1].value:
            made.reverse()
    return made[0], made[1], bool(between)


def instant(text: str, *, end: bool = False) -> float:
    """A date or date and time (ISO 8601), in UTC where no zone is given; end: a bare date means its last moment."""
    try:
        made = datetime.fromisoformat(text)
    except ValueError:
        raise InputError(f"{text!r} is no date", todo="write 2031-04-12 or 2031-04-12T10:30 (UTC where no zone is given)") from None
    made = made if made.tzinfo else made.replace(tzinfo=UTC)
    return (made + timedelta(days=1) if end and len(text) <= 10 else made).timestamp()


def checked(query: Query) -> Query:
    """The query itself; InputError for kinds, certainties and words of control that do not exist, or where nothing is asked."""
    for kind in query.kinds:
        if kind not in KINDS:
            raise InputError(f"there is no kind {kind!r}", todo=f"kinds: {', '.join(KINDS)}")
    if query.at_least and query.at_least not in CERTAINTIES:
        raise InputError(f"there is no certainty {query.at_least!r}", todo=f"from the surest: {', '.join(CERTAINTIES)}")
    if query.limit < 1:
        raise InputError("a limit is 1 or more")
    if not (query.of_rows or query.words.strip() or query.stations or query.loops):
        raise InputError("nothing is asked", todo='give words, a station, a kind, or a value: see `debrief archive search --help`')
    return query


def field_given(text: str) -> tuple[str, str]:
    """'answer=no-go' -> ('answer', 'no go'). InputError without '='."""
    name, mark, value = text.partition("=")
    if not mark or not name.strip() or not squeezed(value):
        raise InputError(f"{text!r} is not NAME=VALUE", todo="write --field answer=no-go")
    return name.strip(), plain(value)

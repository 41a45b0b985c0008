"""Time hacks: a wall clock time given on the instant, the anchor between the recording and the clock on the wall."""
import re

from ..records.rows import Field, Row
from ..records.talk import SpokenTime, Turn
from ..wording.spoken_times import elapsed_get
from .talk import Talk, part
from .times import lead

_ZONES = {"local": "local", "zulu": "UTC", "z": "UTC", "gmt": "UTC", "utc": "UTC"}
_ELAPSED = frozenset("get met elapsed mission".split())
BEHIND_S = 6.0
_HACK = re.compile(r"\bhack\b")


def time_hacks(talk: Talk) -> list[Row]:
    """A clock time in a turn that says 'hack', or that leads up to a mark ('time is ... mark')."""
    rows = []
    for turn in talk.operational():
        clock = next((time for time in talk.times[turn.index] if time.get and time.kind in ("clock", "event_time")), None)
        mark = next((time for time in talk.times[turn.index] if time.kind == "mark"), None)
        said_in = turn
        if clock is None and mark is not None:
            said_in, clock = _led_up(talk, turn)
        if mark is None:
            continue
        if clock is None or clock.get is None or not _HACK.search(turn.text.lower() + said_in.text.lower()):
            rows += _elapsed_hack(talk, turn, mark)
            continue
        zone = next((_ZONES[token.norm] for token in said_in.tokens[clock.start:clock.end + 2] if token.norm in _ZONES), None)
        evidence = (part(turn, "value", mark.start, mark.end), part(said_in, "clock", clock.start, clock.end))
        fields = {"get": Field(clock.get, part=1), "zone": Field(zone)}
        rows.append(Row("time_hacks", fields, evidence, turn.loop, turn.station, turn.index))
    return rows


def _elapsed_hack(talk: Talk, turn: Turn, mark: SpokenTime) -> list[Row]:
    """'Mark.' 'Seventeen minutes GET.': elapsed time of the whole session, told on the instant or right behind it."""
    after = next((other for other in talk.turns[turn.index + 1:turn.index + 3] if other.loop == turn.loop and not other.commentary), None)
    places = [(turn, mark.end)]
    if after is not None and turn.end_s is not None and after.start_s is not None and after.start_s - turn.end_s <= BEHIND_S:
        places.append((after, 0))
    for said_in, first in places:
        for time in talk.times[said_in.index]:
            behind = {token.norm for token in said_in.tokens[time.end:time.end + 2]}
            if time.start == first and time.seconds is not None and time.kind in ("duration", "elapsed") and _ELAPSED & behind:
                evidence = (part(turn, "value", mark.start, mark.end), part(said_in, "clock", time.start, time.end))
                return [Row("time_hacks", {"get": Field(elapsed_get(int(time.seconds)), part=1)}, evidence, turn.loop, turn.station, turn.index)]
    return []


def _led_up(talk: Talk, turn: Turn) -> tuple[Turn, SpokenTime | None]:
    """The clock time told in the turns that a short one ('Hack.') goes on from."""
    for other in reversed(lead(talk, turn)):
        for time in talk.times[other.index]:
            if time.get and time.kind in ("clock", "event_time"):
                return other, time
    return turn, None

"""Time hacks: a wall clock time given on the instant, the anchor between the recording and the clock on the wall."""
import re

from ..records.rows import Field, Row
from ..records.talk import SpokenTime, Turn
from .talk import Talk, part
from .times import lead

_ZONES = {"local": "local", "zulu": "UTC", "z": "UTC", "gmt": "UTC", "utc": "UTC"}
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
        if clock is None or clock.get is None or not (mark and _HACK.search(turn.text.lower() + said_in.text.lower())):
            continue
        zone = next((_ZONES[token.norm] for token in said_in.tokens[clock.start:clock.end + 2] if token.norm in _ZONES), None)
        evidence = (part(turn, "value", mark.start, mark.end), part(said_in, "clock", clock.start, clock.end))
        fields = {"get": Field(clock.get, part=1), "zone": Field(zone)}
        rows.append(Row("time_hacks", fields, evidence, turn.loop, turn.station, turn.index))
    return rows


def _led_up(talk: Talk, turn: Turn) -> tuple[Turn, SpokenTime | None]:
    """The clock time told in the turns that a short one ('Hack.') goes on from."""
    for other in reversed(lead(talk, turn)):
        for time in talk.times[other.index]:
            if time.get and time.kind in ("clock", "event_time"):
                return other, time
    return turn, None

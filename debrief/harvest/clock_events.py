"""What happens to a clock: start, hold, release, reset, recycle; with the marks that words like 'recycle' are in themselves."""
import re

from ..records.rows import Field, Row
from ..records.talk import SpokenTime, Turn
from .clock_calls import SHORT_TURN
from .clock_names import Clock, ClockBook
from .talk import Talk, part
from .times import lead, told_times

_EVENTS: tuple[tuple[str, str], ...] = (
    ("recycle", r"\bwe recycle\b|\brecycle (to|the|back)\b"),
    ("reset", r"\breset\b|\bzero (it|the clock)\b"),
    ("release", r"\b(clock|count) is running again\b|\b(pick|picking) (it )?up the count\b|\bresume the (count|clock)\b|\bcount is (running|on) again\b|"
                r"\b(release|restart)(d)? the (count|clock)\b"),
    ("hold", r"\bhold (on )?the (\w+ )?(count|clock)\b|\bhold(ing)? (the )?count\b|\bhold on the \w+ clock\b"),
    ("start", r"\bcount starts\b|\bclock (is )?(running|starts|started)\b|\bstart (the )?(\w+ )?(clock|count|watch)\b"),
)
_COMPILED = tuple((event, re.compile(pattern)) for event, pattern in _EVENTS)
_NOT_YET = re.compile(r"\b(and|then|please|when|will|release your|shut it)\b")


def clock_events(talk: Talk) -> list[Row]:
    """Rows of the table clock_events: a mark on a clock starts it, save where the words say another thing."""
    book, rows, running = ClockBook.of(talk.session), [], set[str]()
    for turn in talk.operational():
        event, clock, at = _event(talk, book, turn)
        if event is None or clock is None:
            continue
        if event == "start" and clock.name in running and not clock.planned:
            continue
        running.add(clock.name)
        rows.append(_row(turn, event, clock, at))
        book.last = clock
    return rows


def _event(talk: Talk, book: ClockBook, turn: Turn) -> tuple[str | None, Clock | None, SpokenTime | None]:
    mark = next((time for time in told_times(talk, turn) if time.kind == "mark" and turn.tokens[time.end - 1].norm != "limit"), None)
    before = lead(talk, turn) if mark is not None and len(turn.tokens) <= SHORT_TURN else None
    text = f"{before.text if before else ''} {turn.text}".lower()
    said = next((event for event, pattern in _COMPILED if pattern.search(text)), None)
    words = [token.norm for part_of in ([before] if before else []) + [turn] for token in part_of.tokens]
    if said is not None:
        clock = book.counting_down() if re.search(r"\bcount|recycle", text) else book.meant(words) or book.last
        instant = mark is not None or re.search(r"\b(is running|hold on the|we recycle)\b", text)
        return (said, clock, mark) if instant and clock is not None else (None, None, None)
    if mark is not None and turn.tokens[mark.start].norm != "hack":
        clock = book.meant(words)
        spoken = turn.tokens[mark.start].norm in ("mark", "now")
        if clock is not None and clock.planned and spoken:
            return "start", clock, mark
    return None, None, None


def _row(turn: Turn, event: str, clock: Clock, mark: SpokenTime | None) -> Row:
    where = part(turn, "value", mark.start, mark.end) if mark else part(turn, "text")
    return Row("clock_events", {"clock": Field(clock.name, "spoken"), "event": Field(event, "spoken", part=0)}, (where,), turn.loop,
               turn.station, turn.index)

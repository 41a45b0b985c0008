"""What happens to a clock: start, hold, release, reset, recycle; with the marks that words like 'recycle' are in themselves."""
import re

from ..records.rows import Field, Row
from ..records.talk import SpokenTime, Turn
from .clock_names import Clock, ClockBook
from .talk import Talk, part
from .times import LEAD_S, lead, told_times

_CLOCK = r"(\w+ ){0,2}(clock|count|watch|timer)"
_GOES_ON = r"(pick(ing)? (it )?up|resum(e|ing)|releas(e|ing)|restart(ing)?|continu(e|ing))"
_EVENTS: tuple[tuple[str, str], ...] = (
    ("recycle", r"\bwe recycle\b|\brecycle (to|the|back)\b"),
    ("reset", rf"\breset\b|\bzero (it|{_CLOCK})\b|\b{_CLOCK} (back )?to zero\b"),
    ("release", rf"\b{_CLOCK} ((is |are )?(running|on) again|resumes)\b|\b{_GOES_ON} {_CLOCK}\b"),
    ("hold", rf"\b(hold|holding|stop|stopping|freeze) (on )?(the |my |your |our )?{_CLOCK}\b|\b{_CLOCK} (is )?(stopped|held)\b"),
    ("start", rf"\b{_CLOCK} (is |has )?(running|starts|started)\b|\bstart(ing)? {_CLOCK}\b"),
)
_COMPILED = tuple((event, re.compile(pattern)) for event, pattern in _EVENTS)
_AT_ONCE = re.compile(rf"(^|[.,!?] )(hold|stop|start|reset|restart|resume|freeze) (on )?(the |my |your |our )?{_CLOCK}[.!]")


def clock_events(talk: Talk) -> list[Row]:
    """Rows of the table clock_events: a mark on a clock starts it, save where the words say another thing."""
    book, running = ClockBook.of(talk.session), set[str]()
    rows: list[Row] = []
    for turn in talk.operational():
        event, clock, at = _event(talk, book, turn)
        if event is None or clock is None:
            continue
        if event == "start" and clock.name in running and not clock.planned:
            continue
        running.add(clock.name)
        row = _row(turn, event, clock, at)
        if rows and _again(talk, rows[-1], row):
            rows[-1] = row if at is not None else rows[-1]
        else:
            rows.append(row)
        book.last = clock
    return rows


def _again(talk: Talk, last: Row, row: Row) -> bool:
    """The same event of the same clock told twice within seconds ('We recycle to ...', 'Recycle.'): the later, marked one stands."""
    if last.turn is None or row.turn is None or any(last.get(name) != row.get(name) for name in ("clock", "event")):
        return False
    one, two = talk.turns[last.turn].start_s, talk.turns[row.turn].start_s
    return one is not None and two is not None and two - one <= LEAD_S and last.loop == row.loop


def _event(talk: Talk, book: ClockBook, turn: Turn) -> tuple[str | None, Clock | None, SpokenTime | None]:
    told = told_times(talk, turn)
    mark = next((time for time in told if time.kind == "mark" and turn.tokens[time.end - 1].norm != "limit"), None)
    context = [*(lead(talk, turn) if mark is not None else ()), turn]
    text = " ".join(one.text for one in context).lower()
    words = [token.norm for one in context for token in one.tokens]
    said = next((event for event, pattern in _COMPILED if pattern.search(text)), None)
    if said is not None:
        clock = book.counting_down() if re.search(r"\bcount|recycle", text) else book.meant(words) or book.last
        instant = mark is not None or re.search(r"\b(is running|hold on the|we recycle)\b", text) or _ordered(talk, turn, text)
        return (said, clock, mark) if instant and clock is not None else (None, None, None)
    if mark is not None and "hack" not in words:
        clock = book.meant(words)
        spoken = turn.tokens[mark.start].norm in ("mark", "now")
        if clock is not None and clock.planned and spoken:
            return "start", clock, mark
    return None, None, None


def _ordered(talk: Talk, turn: Turn, text: str) -> bool:
    """'Stop the clock.' with no mark to come: the order is the instant."""
    if not _AT_ONCE.search(text):
        return False
    after = talk.turns[turn.index + 1:turn.index + 3]
    return not any(time.kind == "mark" for other in after for time in talk.times[other.index])


def _row(turn: Turn, event: str, clock: Clock, mark: SpokenTime | None) -> Row:
    where = part(turn, "value", mark.start, mark.end) if mark else part(turn, "text")
    return Row("clock_events", {"clock": Field(clock.name, "spoken"), "event": Field(event, "spoken", part=0)}, (where,), turn.loop,
               turn.station, turn.index)

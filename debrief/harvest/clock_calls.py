"""Spoken times on named clocks: marks, offsets, times remaining; what is said is kept, right or not."""
import re
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from ..records.rows import Certainty, Field, FieldValue, Origin, Row
from ..records.talk import SpokenTime, Turn
from ..units import read_unit
from .clock_bare import bare_call
from .clock_names import Clock, ClockBook, content
from .talk import Talk, part
from .times import heard_well, in_seconds, lead, told_times
from .view import once

_ORDER = re.compile(r"\b(recycle[ds]?|pick up|starts?|restart|reset|set|back) (it |the (count|clock) )?(at|to|from|,)|"
                    r"\brecycled\b|\bthe count starts\b")
_COUNT = re.compile(r"\b(count|clock|timer|t minus)\b")
_HOLDS = re.compile(r"\b(hold|holding|held|stop|stopped) (on )?(the |my |your |our )?(\w+ )?(clock|count|watch|timer)\b")
_STANDS_STILL = re.compile(r"\b(and|is|are) holding\b|\bholding at\b|\bhold the (count|clock)\b|\bhold,? hold\b")
_HELD_AT = re.compile(r"\b(recycled|holding|held at|hold (it |the \w+ )?at|stopped at)\b")
_GOES_ON = re.compile(r"\b(and counting|pick(ing)?( it| the count)? up|resum\w+|(count|clock)('s| is| has) (started|resumed|running))\b")
_NOT_YET = re.compile(r"\b(before|when|until|once|ready to|if)\b")
_PROMISES = re.compile(r"\b(i'll|we'll|i will|we will|give me|let me)\b")
_MARKS = frozenset("mark hack now".split())
AGAIN_TURNS = 3
UNPLANNED = "no clock is named, and none is planned"
_UNKNOWN = "no start of a clock of this name was heard"
_READS = frozenset("is reads reading shows stands at now".split())


def clock_calls(talk: Talk) -> list[Row]:
    """Rows of the table clock_calls, in order of the talk: what a clock is called is learnt as the talk goes on."""
    book, rows = ClockBook.of(talk.session), []
    for turn in talk.operational():
        _hold(book, turn.text.lower())
        told = told_times(talk, turn)
        bare = bare_call(talk, book, turn) if not any(time.kind in ("elapsed", "countdown") for time in told) else None
        for time in [*([bare] if bare else []), *told]:
            row = _call(talk, book, turn, time)
            if row is not None:
                rows.append(row)
                book.last_turn = turn.index
    return rows


def _hold(book: ClockBook, text: str) -> None:
    """Whether the count stands: a bare length said meanwhile is how long something takes."""
    down = book.counting_down()
    goes_on = _GOES_ON.search(text)
    if down is not None and _STANDS_STILL.search(text):
        down.held = True
    elif down is not None and goes_on and not _NOT_YET.search(text[:goes_on.start()]):
        down.held = False


def _call(talk: Talk, book: ClockBook, turn: Turn, time: SpokenTime) -> Row | None:
    if time.kind == "mark" and turn.tokens[time.end - 1].norm == "limit":
        return _limit(book, turn, time, talk.times[turn.index])
    behind = _words(turn, time.end, time.end + 3)
    if behind[1:] == ["the", "hour"]:
        return None  # 'at thirty-two minutes past the hour': a time of day
    if behind[:2] == ["and", "counting"] and time.seconds is not None:
        clock = book.counting_down() or book.named(["count"])
        book.last = clock
        return _row(turn, time, clock, "carried", {"remaining_s": abs(time.seconds)}) if clock is not None else None
    reader = {"mark": _mark, "elapsed": _elapsed, "countdown": _countdown, "duration": _count_call}.get(time.kind)
    return reader(talk, book, turn, time) if reader else None


def _words(turn: Turn, start: int, end: int) -> list[str]:
    return [token.norm for token in turn.tokens[max(0, start):end]]


def _sentence(turn: Turn, index: int) -> tuple[int, int]:
    start = next((i + 1 for i in range(index - 1, -1, -1) if turn.tokens[i].ends_sentence and not turn.tokens[i].text.endswith("...")), 0)
    end = next((i + 1 for i in range(index, len(turn.tokens)) if turn.tokens[i].ends_sentence), len(turn.tokens))
    return start, end


def _row(turn: Turn, time: SpokenTime, clock: Clock, named: Origin, fields: dict[str, FieldValue], doubt: str = "") -> Row:
    where = part(turn, "value", time.start, time.end)
    doubt = doubt or ("" if clock.planned or clock.started or clock.down or clock.name == "count" else _UNKNOWN)
    if clock.alone and not clock.down and (doubt == _UNKNOWN or doubt.startswith("the clock is not named")):
        doubt = UNPLANNED
    level: Certainty = "doubtful" if doubt else "clear"
    why = (doubt,) if doubt else ()
    made = {"clock": Field(clock.name, named, level, None, why), "text": Field(where.text.rstrip(".,;"), part=0)}
    fair = time.bare and "mark" not in fields
    sure, grounds, others = ("doubtful", ("no unit said",), time.others) if fair else ("clear", (), ())
    made |= {name: Field(value, "spoken", sure, 0, grounds, others) for name, value in fields.items()}  # type: ignore[arg-type]
    return Row("clock_calls", made, (where,), turn.loop, turn.station, turn.index, witnesses=heard_well(turn, time.start, time.end))


def _mark(talk: Talk, book: ClockBook, turn: Turn, time: SpokenTime) -> Row | None:
    """A mark starts, holds or ends the clock that its sentence, or what leads up to it, names."""
    context = [*lead(talk, turn), turn]
    text = " ".join(one.text for one in context).lower()
    if "hack" in text.split() or "hack" in turn.tokens[time.start].norm:
        return None
    start, _ = _sentence(turn, time.start)
    words = _words(turn, start, time.start) or _words(turn, 0, time.start)
    words = words or [token.norm for one in context[:-1] for token in one.tokens]
    clock, origin, doubt = _marked_clock(book, turn, words, text)
    if (clock is None or not clock.planned) and turn.tokens[time.start].norm not in _MARKS and _counted_to(talk, turn, time):
        clock, origin, doubt = book.counting_down(), "carried", "the clock is not named; the one that counts down is taken"
        if clock is None or not clock.planned:
            return None  # 'three, two, one, fire': the end of a count is a clock's only where one counts
    if clock is None and content(words):
        clock = book.named(_event_words(turn, start, time.start))
        doubt = "said 'now', and no clock of this name was spoken of" if turn.tokens[time.start].norm == "now" else ""
    if clock is None:
        clock, origin, doubt = book.lately(turn.index) or book.meant(_before(talk, turn)), "carried", "the clock is not named; taken from the talk before"
    if clock is None or (clock.down and not clock.started and not _COUNT.search(text)):
        return None
    book.last, clock.started, clock.held = clock, True, bool(_HOLDS.search(text))
    return _row(turn, time, clock, origin, {"mark": True}, doubt)


def _marked_clock(book: ClockBook, turn: Turn, words: Sequence[str], text: str) -> tuple[Clock | None, Origin, str]:
    clock = book.meant(words)
    if clock is not None:
        return clock, "spoken", ""
    if re.search(r"\b(count|recycle)\b", text):
        return book.counting_down(), "carried", ""
    clock = book.meant(_words(turn, 0, len(turn.tokens)))
    if clock is None and re.search(r"\b(again|resum\w+|releas\w+)\b", text):
        clock = book.standing(_words(turn, 0, len(turn.tokens)))
        return clock, "carried", "" if clock is None else "the clock is not named; the one that was held is taken"
    return clock, "spoken", ""


def _counted_to(talk: Talk, turn: Turn, time: SpokenTime) -> bool:
    """Whether the mark is a count's last number, or the word behind it."""
    return any(time.start in (number.end, number.start) for number in talk.numbers[turn.index])


def _event_words(turn: Turn, start: int, end: int) -> list[str]:
    """The last content words before a mark: what the mark is of."""
    words = _words(turn, start, end) or _words(turn, 0, end)
    return [word for word in words if content([word])][-2:]


def _before(talk: Talk, turn: Turn) -> list[str]:
    near = [other for other in talk.turns[max(0, turn.index - 3):turn.index] if not other.commentary]
    return [token.norm for other in near for token in other.tokens]


def _elapsed(talk: Talk, book: ClockBook, turn: Turn, time: SpokenTime) -> Row | None:
    """'doors shut plus four', 'ten minutes on the smoke clock', 'four minutes gone at the stop'."""
    running = book.last is None or book.last.down
    if running and _HELD_AT.search(turn.text.lower()) and book.counting_down() is not None and turn.tokens[time.start].norm != "plus":
        return _count_call(talk, book, turn, time)  # 'hold the clock at 8 minutes 30': what is left on it
    start, end = _sentence(turn, time.start)
    plus = turn.tokens[time.start].norm in ("plus", "t")
    before = _clause_words(turn, start, time.start)
    after = _words(turn, time.end, _clause_end(turn, time.end, end))
    clock, origin, doubt = None, "spoken", ""
    if plus:
        clock = book.meant(before)
        if clock is None and content(before[-3:]):
            clock, doubt = book.named(before[-3:]), _UNKNOWN
    else:
        clock = book.meant(after) or book.meant(before)
        if clock is None and content(after):
            clock, doubt = book.named([word for word in after if content([word])][:3]), _UNKNOWN
    if clock is None:
        clock, origin = book.meant(_words(turn, 0, time.start)), "carried"
    if clock is None:
        clock, doubt = book.lately(turn.index), "the clock is not named; the last one spoken of is taken"
    if clock is None:
        return None
    time = _resolve(talk, turn, clock, time)
    book.last = clock
    return _row(turn, time, clock, origin, {"offset_s": time.seconds}, doubt)  # type: ignore[arg-type]


def _habit(clock: Clock, time: SpokenTime) -> SpokenTime:
    """A bare number in the unit that this clock is told in: seconds where its last call, or its limit, was in seconds."""
    if not time.bare:
        if time.seconds is not None:
            clock.in_seconds = time.seconds < 60
        return time
    return in_seconds(time) if clock.in_seconds else time


def _resolve(talk: Talk, turn: Turn, clock: Clock, time: SpokenTime) -> SpokenTime:
    """The time in the clock's own unit, remembered for the table of times."""
    taken = _habit(clock, time)
    if taken is not time:
        once(talk, "times in seconds", lambda _: set[tuple[int, int]]()).add((turn.index, time.start))
    return taken


def _clause_words(turn: Turn, start: int, end: int) -> list[str]:
    begin = next((i + 1 for i in range(end - 1, start - 1, -1) if turn.tokens[i].ends_clause), start)
    return _words(turn, begin, end)


def _clause_end(turn: Turn, start: int, end: int) -> int:
    if start > 0 and turn.tokens[start - 1].ends_clause:
        return start
    return next((i + 1 for i in range(start, end) if turn.tokens[i].ends_clause), end)


def _countdown(talk: Talk, book: ClockBook, turn: Turn, time: SpokenTime) -> Row | None:
    """'T minus two', 'six to go', 'thirty five left', 'in three minutes'."""
    start, end = _sentence(turn, time.start)
    first = turn.tokens[time.start].norm
    clock, origin, doubt = None, "spoken", ""
    before, after = _words(turn, start, time.start), _words(turn, time.end, end)
    counted = turn.tokens[time.start].norm.isalpha() and len(talk.numbers[turn.index]) >= 3 and time.seconds == _first(talk, turn)
    if counted and not (book.counting_down() or Clock("", frozenset())).planned:
        return None
    if first == "t" or counted:
        clock, origin = book.counting_down() or book.named(["count"]), "carried"
    elif _rate_over(turn, time) or _promised(turn, time) or _to_time_of_day(before, after):
        return None
    elif first == "in" or (time.start and turn.tokens[time.start - 1].norm in ("in", "about")):
        clock = book.meant([word for word in before if content([word])][-3:])
        if clock is None:
            clock, doubt = book.named([word for word in before if content([word])][-3:]), _UNKNOWN
    else:
        clock = book.meant(after) or book.meant(before) or book.meant(_words(turn, 0, time.start))
        if clock is not None and clock.limit_s is None:
            clock = book.limit_of(clock)
        if clock is None and content(after):
            clock, doubt = book.named([word for word in after if content([word])][:2]), _UNKNOWN
        if clock is None and (last := book.lately(turn.index)) is not None:
            clock, origin, doubt = book.limit_of(last), "carried", "the clock is not named; the last one spoken of is taken"
    if clock is None:
        return None
    book.last = clock
    left = _remaining(_resolve(talk, turn, clock, time))
    book.counted = (turn.index, left)
    clock.started = clock.started or clock.down
    return _row(turn, time, clock, origin, {"remaining_s": left}, doubt)  # type: ignore[arg-type]


def _rate_over(turn: Turn, time: SpokenTime) -> bool:
    """'Thirty pounds in ten minutes': how much in what time, and no time to go."""
    at = time.start - 1 if turn.tokens[time.start].norm != "in" else time.start
    return at > 0 and turn.tokens[at].norm == "in" and read_unit((turn.tokens[at - 1].norm,), 0) is not None


def _to_time_of_day(before: Sequence[str], after: Sequence[str]) -> bool:
    """'One minute away from 26 minutes past the hour', 'sixty-five seconds away' said alone: no clock of the talk."""
    away = "away" in (*after[:1], *before[-1:])
    return away and ("hour" in after or not content(after))


def _promised(turn: Turn, time: SpokenTime) -> bool:
    """'I'll have an answer for you in ten minutes': when something is promised, and no clock."""
    start, _ = _sentence(turn, time.start)
    after_in = "in" in _words(turn, time.start - 1, time.start + 1)
    return after_in and bool(_PROMISES.search(" ".join(_words(turn, start, time.start))))


def _first(talk: Talk, turn: Turn) -> Decimal:
    return talk.numbers[turn.index][0].value


def _remaining(taken: SpokenTime) -> Decimal | None:
    return abs(taken.seconds) if taken.seconds is not None else None


def _count_call(talk: Talk, book: ClockBook, turn: Turn, time: SpokenTime) -> Row | None:
    """A bare length on a running count ('Thirty seconds.'), or time remaining that is said again ('Three minutes, roger.')."""
    start, end = _sentence(turn, time.start)
    around = [*_words(turn, start, time.start), *_words(turn, time.end, end)]
    down = book.counting_down()
    alone = len(content(around)) == 0 and time.start - start <= 1
    running = book.last is None or book.last.down
    goes_on = book.counted is None or book.counted[1] is None or (time.seconds or 0) <= book.counted[1]
    stands = down is not None and down.held and "hold" not in turn.text.lower()
    ends = turn.tokens[-1].ends_sentence or not any(token.ends_clause for token in turn.tokens)
    called = alone and running and goes_on and not stands and ends
    if called and down is not None and not _again(talk, turn, time) and not _asked_before(talk, turn):
        return _row(turn, time, down, "carried", {"remaining_s": time.seconds})
    if down is not None and _HELD_AT.search(turn.text.lower()):
        return _row(turn, replace(time, kind="countdown"), down, "carried", {"remaining_s": time.seconds})
    named = _named_just_before(book, _words(turn, start, time.start))
    if named is not None:
        book.last = named
        return _row(turn, time, named, "spoken", {"offset_s": time.seconds})
    told_on = book.meant(_words(turn, time.end, end)) if _words(turn, time.end, time.end + 2) == ["on", "the"] else None
    if told_on is not None and told_on.started and not told_on.down:
        book.last = told_on
        return _row(turn, time, told_on, "spoken", {"offset_s": time.seconds})
    again = book.counted and turn.index - book.counted[0] <= AGAIN_TURNS and book.counted[1] == time.seconds
    if again and book.last is not None:
        return _row(turn, time, book.last, "carried", {"remaining_s": time.seconds})
    return None


def _again(talk: Talk, turn: Turn, time: SpokenTime) -> bool:
    """A number without a unit that the turn before holds too: read back, and no time."""
    return time.bare and turn.index > 0 and any(number.value == time.seconds for number in talk.numbers[turn.index - 1])


def _named_just_before(book: ClockBook, words: Sequence[str]) -> Clock | None:
    """'Burn time five seconds', 'the watch reads thirty seconds': a clock by its whole name, then what it reads."""
    while words and words[-1] in _READS:
        words = words[:-1]
    up = ((clock, clock.name.lower().split()) for clock in book.clocks if not clock.down)
    return next((clock for clock, name in up if list(words[-len(name):]) == name), None)


def _limit(book: ClockBook, turn: Turn, time: SpokenTime, said: Sequence[SpokenTime]) -> Row | None:
    """'That's the ninety-second limit': the clock whose limit this is, by its length and the words around it."""
    length = next((one.seconds for one in said if one.kind != "mark" and time.start <= one.start < time.end), None)
    fitting = [clock for clock in book.clocks if clock.limit_s is not None and length is not None and float(length) == clock.limit_s]
    named = book.meant(_words(turn, *_sentence(turn, time.start)))
    clock = named if named in fitting or not fitting else fitting[0]
    return _row(turn, time, clock, "plan", {"mark": True}) if clock is not None else None


def _asked_before(talk: Talk, turn: Turn) -> bool:
    return turn.index > 0 and talk.turns[turn.index - 1].text.rstrip().endswith("?")


def is_order(text: str) -> bool:
    """True where a reading is asked for ('recycle to T minus three'), not told."""
    return bool(_ORDER.search(text.lower()))


def latest(rows: Sequence[Row], turn: int) -> Row | None:
    """The last of the rows at or before a turn."""
    return next((row for row in reversed(rows) if row.turn is not None and row.turn <= turn), None)

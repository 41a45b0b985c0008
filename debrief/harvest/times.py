"""The table of spoken times: every time once a turn, and the answers to questions of time that carry no unit."""
import re
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from ..records.rows import Field, Row
from ..records.talk import Number, SpokenTime, Turn
from .talk import Talk, part
from .view import once

_ASKS_TIME = re.compile(r"\b(what time|got the time|time check|time please|the time|what's your time|time now|clock time)\b|\btime\?")
_ASKS_LENGTH = re.compile(r"\b(how long|how many (seconds|minutes)|stopwatch)\b")
_INSTANT = (re.compile(r"(clock|count) is running again"), re.compile(r"hold on the (\w+ )?clock"),
            re.compile(r"(that's|that is|there's|this is|reached|we're at|now at) (the|a|our|your) ([\w-]+ ){1,4}limit"))
_INSTANT_WORDS = frozenset("clock count recycle limit".split())
_ECHO_TURNS = 2
_BARE = {False: ("no unit said; minutes taken",), True: ("which half of the day is not said",)}
LEAD_S = 8.0
SHORT_TURN = 3


def told_times(talk: Talk, turn: Turn) -> list[SpokenTime]:
    """The times of a turn, each once; a mark that only repeats another station's mark just before is left out."""
    kept: list[SpokenTime] = []
    seconds = once(talk, "times in seconds", lambda _: set[tuple[int, int]]())
    for given in [*talk.times[turn.index], *_answers(talk, turn), *_instants(turn)]:
        time = in_seconds(given) if (turn.index, given.start) in seconds else given
        twin = next((i for i, one in enumerate(kept) if _says_the_same(one, time)), None)
        if twin is not None:
            kept[twin] = time if kept[twin].kind == "duration" else kept[twin]
        elif not (time.kind == "mark" and (_echoes_mark(talk, turn, time) or _marked_next(talk, turn, time))):
            kept += [] if _goes_on_counting(talk, turn, time) else [time]
    return kept


def _says_the_same(one: SpokenTime, other: SpokenTime) -> bool:
    return one.kind == other.kind == "mark" or (one.kind != "mark" and (one.seconds, one.get) == (other.seconds, other.get))


def _instants(turn: Turn) -> list[SpokenTime]:
    """'Recycle.', 'hold on the smoke clock', 'clock is running again', 'that's the two-minute limit': the instant in words."""
    words = [token.norm for token in turn.tokens]
    found: list[SpokenTime] = []
    for index, word in enumerate(words if _INSTANT_WORDS & set(words) else ()):
        rest = " ".join(words[index:index + 6])
        length = next((len(match.group().split()) for pattern in _INSTANT if (match := pattern.match(rest))), 0)
        alone = word == "recycle" and turn.tokens[index].ends_sentence and (index == 0 or turn.tokens[index - 1].ends_clause)
        if length or alone:
            found.append(SpokenTime(index, index + max(1, length), "mark"))
    return found


def _goes_on_counting(talk: Talk, turn: Turn, time: SpokenTime) -> bool:
    """'Five. Four.' after '... Seven. Six.': the count was told already."""
    if time.kind != "countdown" or len(talk.numbers[turn.index]) < 3 or time.seconds is None:
        return False
    before = next((other for other in reversed(talk.turns[max(0, turn.index - 3):turn.index]) if other.station == turn.station), None)
    return before is not None and any(number.value == time.seconds + 1 for number in talk.numbers[before.index][-1:])


def _marked_next(talk: Talk, turn: Turn, time: SpokenTime) -> bool:
    """A count that ends its turn at 'one' while the next turn on its loop opens with the mark itself."""
    if (time.start, time.end) not in {(number.start, number.end) for number in talk.numbers[turn.index]}:
        return False
    after = next((other for other in talk.turns[turn.index + 1:turn.index + 4] if other.loop == turn.loop), None)
    return after is not None and any(one.kind == "mark" and one.start < 2 for one in talk.times[after.index])


def lead(talk: Talk, turn: Turn) -> tuple[Turn, ...]:
    """The turns that a short one ('Mark.') goes on from, oldest first: back to the last long one on its loop, within seconds."""
    found: list[Turn] = []
    later = turn
    for other in reversed(talk.turns[max(0, turn.index - 12):turn.index] if len(turn.tokens) <= SHORT_TURN else ()):
        if other.loop != turn.loop or other.commentary or other.set_aside:
            continue
        near = other.end_s is None or later.start_s is None or later.start_s - other.end_s <= LEAD_S
        if not near or (other.station and turn.station and other.station != turn.station):
            break
        found.append(other)
        later = other
        if len(other.tokens) > SHORT_TURN:
            break
    return tuple(reversed(found))


def _echoes_mark(talk: Talk, turn: Turn, time: SpokenTime) -> bool:
    """'Mark, visor down' opens the answer of another station within two turns of the mark itself."""
    if time.start > 0 or len(turn.tokens) < 3 or turn.tokens[0].norm != "mark":
        return False
    before = [other for other in talk.turns[max(0, turn.index - _ECHO_TURNS):turn.index]
              if other.station is None or other.station != turn.station]
    return any(one.kind == "mark" for other in before for one in talk.times[other.index])


def _answers(talk: Talk, turn: Turn) -> list[SpokenTime]:
    """'One four two six.' to 'time?', 'Forty.' to 'how long?', 'Four point four.' after another's 'Three point eight seconds.'"""
    number = next(iter(talk.numbers[turn.index]), None)
    if number is None or number.start > 0 or talk.times[turn.index] or not _sentence_alone(turn, number):
        return []
    before = [other for other in talk.turns[max(0, turn.index - 2):turn.index] if not other.commentary]
    asked = " ".join(other.text.lower() for other in before)
    found = _answer(number, asked, number.end >= len(turn.tokens) - 2)
    if found is None and "." in number.text and any(_stopwatch(talk, other) for other in before):
        found = SpokenTime(number.start, number.end, "duration", number.value)
    return [found] if found else []


def _sentence_alone(turn: Turn, number: Number) -> bool:
    return number.end == len(turn.tokens) or turn.tokens[number.end - 1].ends_clause


def _stopwatch(talk: Talk, turn: Turn) -> bool:
    """A length in seconds and tenths, as read off a stopwatch."""
    return any(time.kind == "duration" and time.seconds is not None and time.seconds % 1 != 0 and time.seconds < 60
               for time in talk.times[turn.index])


def _answer(number: Number, asked: str, alone: bool) -> SpokenTime | None:
    if _ASKS_TIME.search(asked):
        day = re.fullmatch(r"([01]\d|2[0-3])[0-5]\d", number.text)
        return SpokenTime(number.start, number.end, "clock", None, None, f"{number.text[:2]}:{number.text[2:]}:00") if day else None
    if alone and len(number.text) < 4 and _ASKS_LENGTH.search(asked):
        return SpokenTime(number.start, number.end, "duration", number.value, others=(number.value * 60,), bare=True)
    return None


def times(talk: Talk) -> list[Row]:
    """Rows of the table times. Claims the words of every time, so that none becomes a readout."""
    rows = []
    for turn in talk.operational():
        for time in talk.times[turn.index]:
            talk.claim(turn, time.start, time.end, "times")
        rows += [time_row(turn, time) for time in told_times(talk, turn)]
    return rows


def time_row(turn: Turn, time: SpokenTime, text_end: int | None = None) -> Row:
    """The row of one spoken time."""
    where = part(turn, "value", time.start, text_end or time.end)
    certain, why = ("doubtful", _BARE[bool(time.get)]) if time.bare else ("clear", ())
    seconds = Field(time.seconds, part=0, certainty=certain, why=why, others=time.others)  # type: ignore[arg-type]
    fields = {"kind": Field(time.kind, "assumed"), "seconds": seconds, "seconds_high": Field(time.seconds_high, part=0),
              "get": Field(time.get, "spoken", certain, 0, why), "text": Field(where.text.rstrip(".,;"), part=0)}  # type: ignore[arg-type]
    return Row("times", {name: item for name, item in fields.items() if item.value is not None}, (where,), turn.loop, turn.station,
               turn.index, witnesses=heard_well(turn, time.start, time.end))


def heard_well(turn: Turn, start: int, end: int) -> dict[str, float | str]:
    """The lowest word probability over tokens [start, end), as a witness; nothing where the source has none."""
    known = [token.probability for token in turn.tokens[start:end] if token.probability is not None]
    return {"word probability": round(min(known), 4)} if known else {}


def in_seconds(time: SpokenTime) -> SpokenTime:
    """A bare time with its other reading, in seconds."""
    if not time.bare or not time.others:
        return time
    return replace(time, seconds=time.others[0], others=(time.seconds or Decimal(0),))


def standing(times_of_turn: Sequence[SpokenTime], kind: str) -> list[SpokenTime]:
    return [time for time in times_of_turn if time.kind == kind]

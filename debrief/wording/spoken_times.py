"""Spoken times: durations, clock times, elapsed and remaining times, marks and hacks, in words, figures and both mixed.

Conventions: a bare number behind 'plus' or before 'to go' is minutes unless the clock's own habit says seconds (then harvest, which
knows the clock, takes the other reading). 'eleven thirty' in a time is eleven minutes thirty. Common practice, no source.
"""
import re
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from ..records.talk import Number, SpokenTime, TimeKind
from .spoken_marks import count_marks, mark_at
from .time_words import TimeWords, plainly

UNIT_S = {"hour": 3600, "hours": 3600, "hrs": 3600, "hr": 3600, "minute": 60, "minutes": 60, "mins": 60, "min": 60,
          "second": 1, "seconds": 1, "secs": 1, "sec": 1}
_COLON = re.compile(r"(-?\d{1,3}):(\d{2})(?::(\d{2})(\.\d+)?)?")
_LEFT = (("to", "go"), ("to", "run"), ("left",), ("remaining",), ("off",), ("more",), ("from", "now"), ("away",), ("and", "counting"))
_ELAPSED = (("gone",), ("elapsed",), ("into",), ("after",), ("since",), ("in",), ("past",), ("old",))
_ZONES = frozenset("local zulu z gmt utc hours bst cet".split())
_CLOCK_BEFORE = frozenset("at is time gmt cet get z to".split())
_TIMELY = frozenset("minute minutes second seconds hour hours time clock limit count".split())
_ABOUT = frozenset("about approximately roughly around maybe nearly almost some".split())


def read_times(words: Sequence[str], numbers: Sequence[Number]) -> tuple[SpokenTime, ...]:
    """Every spoken time in words, in order, never overlapping. numbers: read_numbers of the same words."""
    if not words:
        return ()
    given = TimeWords.of(words, numbers)
    found: list[SpokenTime] = []
    index = 0
    while index < len(words):
        time = _time_at(given, index)
        if time is not None:
            found.append(time)
            index = max(time.end, index + 1)
        else:
            index += 1
    return tuple(sorted([*found, *count_marks(given, found)], key=lambda time: (time.start, time.end)))


def _time_at(given: TimeWords, index: int) -> SpokenTime | None:
    for reader in (_colon_time, _zulu, _figure_groups, _plus_groups, _plus_pair, _clock_time, _past_the_hour, _duration, _halves, _bare, mark_at):
        time = reader(given, index)
        if time is not None:
            return time
    return None


def _get(hours: int, minutes: int, seconds: int = 0) -> str:
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}"


def elapsed_get(total: int) -> str:
    """Seconds elapsed as 'hh:mm:ss'."""
    return _get(total // 3600, total // 60 % 60, total % 60)


def _colon_time(given: TimeWords, index: int) -> SpokenTime | None:
    found = _COLON.fullmatch(given.plain[index])
    if not found or int(found.group(2)) > 59:
        return None
    hours, minutes, seconds = int(found.group(1)), int(found.group(2)), int(found.group(3) or 0)
    before_zero = found.group().startswith("-")
    if given.at(index - 1) in ("minus", "plus") or before_zero:
        sign = -1 if before_zero or given.at(index - 1) == "minus" else 1
        total = abs(hours) * 3600 + minutes * 60 + seconds if found.group(3) else abs(hours) * 60 + minutes
        return SpokenTime(index, index + 1, "elapsed" if sign > 0 else "countdown", Decimal(sign * total))
    return SpokenTime(index, index + 1, _clock_kind(given, index), None, None, _get(hours, minutes, seconds))


def _zulu(given: TimeWords, index: int) -> SpokenTime | None:
    """'1642Z'."""
    found = re.fullmatch(r"([01]\d|2[0-3])([0-5]\d)z", given.plain[index])
    return SpokenTime(index, index + 1, "clock", None, None, _get(int(found.group(1)), int(found.group(2)))) if found else None


def _past_the_hour(given: TimeWords, index: int) -> SpokenTime | None:
    """'half past three', 'quarter to six': an hour of the day; which half of the day is not said."""
    shift = {("half", "past"): 30, ("quarter", "past"): 15, ("quarter", "to"): -15}.get((given.at(index), given.at(index + 1)))
    hour = given.numbers.get(index + 2)
    if shift is None or hour is None or hour.value not in range(1, 25) or hour.form == "ordinal":
        return None
    total = (int(hour.value) * 60 + shift) % 1440
    return SpokenTime(index, hour.end, "event_time", None, None, _get(total // 60, total % 60), bare=True)


def _clock_kind(given: TimeWords, index: int) -> TimeKind:
    return "clock" if given.at(index - 1) in ("is", "time", "gmt", "now") else "event_time"


def _two_digits(given: TimeWords, index: int) -> int | None:
    word = given.at(index)
    return int(word) if re.fullmatch(r"[0-5]\d", word) else None


_CLOCKED = frozenset("at time get cet gmt zulu is say until till by on from since of".split())


def _figure_groups(given: TimeWords, index: int) -> SpokenTime | None:
    """'04 32 28', '2 17 20', '086 19 39': hours, minutes, seconds in figures with no mark between them."""
    head = given.at(index)
    if not re.fullmatch(r"\d{1,3}", head) or given.breaks(index) or given.at(index - 1).isdigit():
        return None
    minutes, seconds = _two_digits(given, index + 1), _two_digits(given, index + 2)
    if minutes is None:
        return None
    runs_on = not given.breaks(index + 2) and re.fullmatch(r"\d+", given.at(index + 3))
    rises = seconds is not None and int(head) < minutes < seconds and not head.startswith("0") and given.at(index - 1) not in _CLOCKED
    falls = seconds is not None and int(head) > minutes > seconds and given.at(index + 2)[0] != "0" and given.at(index - 1) not in _CLOCKED
    if seconds is not None and not given.breaks(index + 1) and not runs_on and not rises and not falls:  # 'casing 26 31 35' counts up, '22 17 15' down
        return SpokenTime(index, index + 3, "event_time", None, None, _get(int(head), minutes, seconds))
    said = given.at(index - 1) in ("at", "say", "until", "till", "by") and not given.at(index + 2).isdigit()
    if said and len(head) <= 2:
        return SpokenTime(index, index + 2, "event_time", None, None, _get(int(head), minutes))
    return None


def _plus_groups(given: TimeWords, index: int) -> SpokenTime | None:
    """'04 plus 32 plus 28', 'eighty nine plus twenty eight plus thirty nine'."""
    first = given.numbers.get(index)
    second = given.numbers.get(first.end) if first else None
    third = given.numbers.get(second.end) if second else None
    if not (first and second and third and second.signed and third.signed):
        return None
    if not (0 <= second.value < 60 and 0 <= third.value < 60 and len(second.text) == 2 and first.value >= 0 and first.value < 1000):
        return None
    return SpokenTime(index, third.end, "event_time", None, None, _get(int(first.value), int(second.value), int(third.value)))


def _plus_pair(given: TimeWords, index: int) -> SpokenTime | None:
    """'7 plus 05', 'six plus two two': minutes and seconds, or hours and minutes, which is not said."""
    first = given.numbers.get(index)
    second = given.numbers.get(first.end) if first else None
    if first is None or second is None or first.signed or "." in first.text or not 0 <= first.value < 1000 or given.breaks(first.end - 1):
        return None
    if given.at(second.start) != "plus" or len(second.text.lstrip("+")) != 2 or not 0 <= second.value < 60 or given.numbers.get(second.end) is not None:
        return None
    seconds = plainly(first.value * 60 + second.value)
    return SpokenTime(index, second.end, "elapsed", seconds, bare=True, others=(seconds * 60,))


def _clock_time(given: TimeWords, index: int) -> SpokenTime | None:
    """'fourteen hundred hours local', 'fourteen thirteen and twenty seconds local', 'zero four one five zulu', 'time is 1707'."""
    number = given.numbers.get(index)
    if number is None or number.value < 0 or number.value_high is not None:
        return None
    number = _hour_and_minute(given, number)
    text = number.text if number.text.isdigit() else str(number.others[0]) if number.others and number.form == "decimal" else ""
    if not re.fullmatch(r"[01]?\d[0-5]\d|2[0-3][0-5]\d|2400", text) or len(text) < 3:
        return None
    hours, minutes, end, seconds = int(text[:-2]), int(text[-2:]), number.end, 0
    tail = given.numbers.get(end + 1) if given.at(end) == "and" else None
    if tail and given.at(tail.end) in ("second", "seconds") and len(text) == 4:
        seconds, end = int(tail.value), tail.end + 1
    zone = given.at(end) in _ZONES and len(text) == 4
    asked = len(text) == 4 and index >= 1 and (given.at(index - 1) in ("gmt", "cet", "time", "gmt.") or
                                               (given.at(index - 1) in ("is", "at", "was") and _speaks_of_time(given, index)))
    if not zone and not asked and not _time_of_day(given, number):
        return None
    if given.at(end) == "hours" and given.at(end + 1) in _ZONES:
        end += 1
    return SpokenTime(index, end + 1 if zone else end, "clock", None, None, _get(hours, minutes, seconds))


_HAPPENED = frozenset("away out off opened closed started stopped begun began lifted landed launched left arrived complete completed done finished "
                      "logged dropped released touchdown aboard ashore surfaced underway airborne".split())
"""What is told with the time at which it happened: 'team's away at thirteen twenty two'."""


def _time_of_day(given: TimeWords, number: Number) -> bool:
    """'time check, ten forty two', 'on air at zero nine four two', 'away at thirteen twenty two': four digits where a time is due."""
    before, second = given.at(number.start - 1), given.at(number.start - 2)
    checked = before == "check" and second == "time" and len(number.text) in (3, 4)
    happened = len(number.text) == 4 and int(number.text[:2]) >= 10 and before == "at" and second in _HAPPENED and given.breaks(number.end - 1)
    early = before == "at" and len(number.text) == 4 and number.text.startswith("0") and (
        given.breaks(number.end - 1) or given.at(number.end) in ("", "local", "and"))
    return checked or early or happened


def _hour_and_minute(given: TimeWords, number: Number) -> Number:
    """'14, 13': the hour and the minute of a clock time that a recogniser wrote apart."""
    after = given.numbers.get(number.end)
    short = after is not None and len(number.text) <= 2 and len(after.text) == 2 and number.text.isdigit() and after.text.isdigit()
    if not short or after is None or number.signed or after.signed:
        return number
    return replace(number, end=after.end, text=f"{number.text:0>2}{after.text}", others=())


def _speaks_of_time(given: TimeWords, index: int) -> bool:
    return bool({"time", "gmt", "zulu", "clock", "check", "cet", "hack"} & set(given.plain[max(0, index - 7):index]))


def _duration(given: TimeWords, index: int) -> SpokenTime | None:
    """A number with a unit of time, and what follows it: 'two minutes and thirty seconds', 'three minutes twenty'."""
    number = given.numbers.get(index)
    if number is None or number.form == "ordinal" or _only_waiting(given, number):
        return None
    number = _either(given, number)
    if number.form == "fraction" and given.plain[number.end:number.end + 3] == ("of", "an", "hour"):
        return _in_context(given, SpokenTime(index, number.end + 3, "duration", plainly(number.value * 3600)), None)
    unit = _unit_behind(given, number)
    if unit is None:
        return None
    scale, end = unit
    if given.at(end) == "mark" and end == number.end:
        return SpokenTime(index, end + 1, "mark")
    seconds, high = abs(number.value) * scale, number.value_high
    more, behind = _smaller_units(given, end, scale)
    if scale == 3600 and number.form != "fraction" and end > number.end and not more and _hour_of_day(given, number):
        return SpokenTime(index, end, "event_time", None, None, _hours_get(number))
    time = SpokenTime(index, behind, "duration", plainly(seconds + more), plainly(high * scale) if high is not None else None)
    if scale == 3600 and more and given.at(index - 1) not in ("for", "in", "another", "took") and number.value == int(number.value) \
            and given.plain[behind:behind + 2] != ("and", "counting"):
        total = int(seconds + more)
        return replace(time, kind="clock", seconds=None, get=elapsed_get(total))
    return _in_context(given, time, number)


def _either(given: TimeWords, number: Number) -> Number:
    """'two or three minutes': both, as a range."""
    other = given.numbers.get(number.end + 1) if given.at(number.end) == "or" else None
    rises = other is not None and other.value > number.value and number.value_high is None and other.value_high is None
    return replace(number, end=other.end, value_high=other.value) if other is not None and rises else number


def _only_waiting(given: TimeWords, number: Number) -> bool:
    """'Stand by one second', 'wait one': a figure of speech. 'ten minutes to six': an hour of the day told backwards."""
    before = given.plain[max(0, number.start - 2):number.start]
    waits = before[-1:] in (("standby",), ("wait",)) or before == ("stand", "by")
    return (waits and number.value == 1) or (given.at(number.end + 1) == "to" and number.end + 2 in given.numbers)


def _unit_behind(given: TimeWords, number: Number) -> tuple[int, int] | None:
    """Seconds a unit of time has, and the word behind it: '30-minute', 'thirty seconds', 'ten more seconds'."""
    glued = _glued_unit(given, number.start) if number.end == number.start + 1 else None
    if glued is not None:
        return glued, number.end
    if given.breaks(number.end - 1):
        return None
    skip = 1 if given.at(number.end) == "more" else 0
    unit = UNIT_S.get(given.at(number.end + skip))
    return (unit, number.end + skip + 1) if unit else None


def _glued_unit(given: TimeWords, index: int) -> int | None:
    """'30-minute', 'ninety-second': the unit in one word with the number."""
    tail = given.plain[index].rpartition("-")[2]
    return UNIT_S.get(tail) if "-" in given.plain[index] else None


def _hour_of_day(given: TimeWords, number: Number) -> bool:
    """'at 146 hours', 'in 146 hours from', 'greater than 105 hours': a point of elapsed time, not a length."""
    before = given.at(number.start - 1)
    about = before in _ABOUT and given.at(number.start - 2) == "at"
    return before in ("at", "to", "until", "than") or about or number.value > 72


def _hours_get(number: Number) -> str:
    total = int(number.value * 3600)
    if number.value >= 100 and number.value % 100 == 0 and number.value <= 2400 and number.form == "cardinal":
        return _get(int(number.value) // 100, 0)
    return _get(total // 3600, total // 60 % 60)


def _smaller_units(given: TimeWords, end: int, scale: int) -> tuple[Decimal, int]:
    """What follows 'three minutes': 'and thirty seconds', 'twenty' (seconds), 'and a half'."""
    total = Decimal(0)
    while scale > 1:
        if given.plain[end:end + 3] == ("and", "a", "half"):
            return total + Decimal(scale) / 2, end + 3
        if given.plain[end:end + 3] == ("and", "a", "quarter"):
            return total + Decimal(scale) / 4, end + 3
        begin = end + 1 if given.at(end) == "and" else end
        number = given.numbers.get(begin)
        if number is None or number.signed or number.value_high is not None:
            break
        unit = UNIT_S.get(given.at(number.end), 0)
        if unit and unit < scale:
            total, end, scale = total + number.value * unit, number.end + 1, unit
        elif not unit and scale == 60 and number.value < 60 and not given.breaks(begin - 1) and _stands_alone(given, number):
            return total + number.value, number.end
        else:
            break
    return total, end


def _stands_alone(given: TimeWords, number: Number) -> bool:
    return given.breaks(number.end - 1) or given.at(number.end) in ("", "left", "to", "gone", "on", "remaining", "away") \
        or given.plain[number.end:number.end + 2] == ("and", "counting")


def _in_context(given: TimeWords, time: SpokenTime, number: Number | None) -> SpokenTime:
    """Elapsed, remaining or plain: by the words around it."""
    before, second = given.at(time.start - 1), given.at(time.start - 2)
    start, kind, sign = time.start, time.kind, 1
    if number is not None and number.signed:
        t_count = before == "t"
        kind = "countdown" if number.value < 0 else "elapsed"
        start = time.start - 1 if t_count else time.start
    elif before == "minus" and second == "t":
        kind, start = "countdown", time.start - 2
    elif before == "plus":
        kind, start = "elapsed", time.start - 1
    elif _until(given, time.end) or "in" in (before, second if before in _ABOUT else ""):
        kind = "countdown"
    elif _since(given, time.end) or _on_clock(given, time.end) or "clock" in given.plain[max(0, time.start - 3):time.start]:
        kind = "elapsed"
    seconds = time.seconds * sign if time.seconds is not None else None
    return replace(time, start=start, kind=kind, seconds=seconds, approximate=before in _ABOUT)


def _until(given: TimeWords, at: int) -> bool:
    """'... to go', '... left', '... to loss of signal'."""
    of_it = given.at(at) == "of" and bool({"left", "remaining"} & set(given.plain[at + 1:at + 5]))
    return of_it or given.starts(at, _LEFT) or (given.at(at) == "to" and given.at(at + 1) != "a")


def _since(given: TimeWords, at: int) -> bool:
    """'... gone', '... after the start'; not '... past the hour', which is a time of day."""
    return given.starts(at, _ELAPSED) and given.plain[at:at + 3] != ("past", "the", "hour")


def _on_clock(given: TimeWords, at: int) -> bool:
    return given.at(at) == "on" and given.at(at + 1) in ("the", "a", "my", "your", "our") and "clock" in given.plain[at + 2:at + 6]


def _halves(given: TimeWords, index: int) -> SpokenTime | None:
    """'half an hour', 'half a minute', 'a minute and a half', 'an hour', 'a minute twenty'."""
    word = given.at(index)
    if word in ("quarter", "quarters") and given.plain[index + 1:index + 4] == ("of", "an", "hour"):
        parts = 3 if word == "quarters" or given.at(index - 1) == "three" else 1
        return _in_context(given, SpokenTime(index, index + 4, "duration", Decimal(900 * parts)), None)
    if word == "half" and given.at(index + 1) in ("a", "an") and given.at(index + 2) in UNIT_S:
        return _in_context(given, SpokenTime(index, index + 3, "duration", Decimal(UNIT_S[given.at(index + 2)]) / 2), None)
    if word in ("a", "an", "my", "one", "another", "last") and given.at(index + 1) in ("minute", "hour") and index not in given.numbers:
        scale = UNIT_S[given.at(index + 1)]
        more, end = _smaller_units(given, index + 2, scale)
        if not more and given.at(index - 1) not in ("in", "for", "about", "the", "within", "after", "every", "another") and word != "one":
            return None
        return _in_context(given, SpokenTime(index, end, "duration", plainly(scale + more)), None)
    return None


def _minutes(number: Number) -> tuple[Decimal, bool]:
    """A bare number as seconds: 'eleven thirty' is 11 min 30 s, 'eleven and a half' 11.5 min; True where seconds are fair too."""
    text = number.text if number.text.isdigit() else ""
    if number.form in ("digits", "figures", "cardinal") and len(text) in (3, 4) and int(text[-2:]) < 60:
        return Decimal(int(text[:-2]) * 60 + int(text[-2:])), False
    return plainly(abs(number.value) * 60), number.form != "fraction"


def _bare(given: TimeWords, index: int) -> SpokenTime | None:
    """'plus nineteen', 'T minus one forty-five', 'six to go', 'six forty left', 'five forty-five on the cabin clock'."""
    number = given.numbers.get(index)
    if number is None or number.value_high is not None or number.form == "ordinal":
        return None
    start, kind = index, None
    signed_word = given.at(index) in ("plus", "minus")
    if signed_word and given.at(index - 1) == "t":
        start, kind = index - 1, "countdown" if given.at(index) == "minus" else "elapsed"
    elif given.at(index) == "plus" and _follows_event(given, index):
        kind = "elapsed"
    elif not given.breaks(number.end - 1) and _remains(given, number.end, len(number.text) > 2 and not number.text.endswith("00")):
        kind = "countdown"
    elif _on_clock(given, number.end) or given.at(index - 1) == "clock" or _clock_stands(given, number):
        kind = "elapsed"
    if kind is None or "." in number.text and number.form != "fraction":
        return None
    seconds, fair = _minutes(number)
    if fair and start < index and given.at(start - 1) == "at":
        return None
    others = (plainly(abs(number.value)),) if fair else ()
    return SpokenTime(start, number.end, kind, seconds, None, None, False, fair, others)  # type: ignore[arg-type]


def _clock_stands(given: TimeWords, number: Number) -> bool:
    """'the clock stands at seven twenty-five': minutes and seconds, where a clock is spoken of."""
    verb = given.at(number.start - 1) in ("at", "reads", "reading", "shows", "showing") or given.at(number.start - 2) in ("stands", "stood")
    reads = verb and "clock" in given.plain[:number.start]
    return reads and len(number.text) in (3, 4) and number.text.isdigit() and int(number.text[-2:]) < 60


def _remains(given: TimeWords, at: int, number_of_two: bool) -> bool:
    """'to go', 'to run', or 'left' that ends its clause, where time is the subject ('thirty five left', not 'five left, three right')."""
    if given.starts(at, (("to", "go"), ("to", "run"), ("remaining",))):
        return True
    if given.at(at) != "left" or "right" in given.plain[at + 1:at + 5] or not (number_of_two or _TIMELY & set(given.plain)):
        return False
    return given.breaks(at) or given.at(at + 1) in ("", "on", "of", "to", "in", "for", "until", "before")


def _follows_event(given: TimeWords, index: int) -> bool:
    """'left surface plus nineteen': words, not numbers, stand before 'plus'."""
    return index > 0 and not given.breaks(index - 1) and (index - 1) not in given.taken and given.at(index - 1).isalpha()

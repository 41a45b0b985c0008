"""Marks: 'mark', 'hack', 'now' said on the instant, and the word at the end of a count. Common practice, no source."""
import re
from collections.abc import Iterator, Sequence

from ..records.talk import Number, SpokenTime
from .time_words import TimeWords, plainly

_MARK_IDIOMS = frozenset("my a your the each that this question bench check".split())
_OPENERS = frozenset("okay ok alright right and so well yes no roger copy but then just".split())


def mark_at(given: TimeWords, index: int) -> SpokenTime | None:
    """'Mark.', 'hack', 'now' said on the instant; not 'on my mark', 'give me a mark', 'right now'."""
    word, before = given.plain[index], given.at(index - 1)
    if word in ("mark", "hack") and not _told_of(given, index):
        shouted = given.raw[index].startswith(word.upper())
        idiom = before in _MARK_IDIOMS or given.at(index + 1) in ("up", "down", "on", "off", "my") or before in ("at", "bench")
        alone = index == 0 or given.breaks(index - 1) or shouted or (index - 1) in given.taken or given.at(index - 1) == "second"
        if not idiom and _unpointed(given, index):
            return SpokenTime(index, index + 1, "mark")
        if not idiom and alone and (given.breaks(index) or index + 1 == len(given.plain) or shouted or given.at(index + 1) == "the"):
            return SpokenTime(index, index + 1, "mark")
        if re.search(r"-(second|minute)$", before):
            return SpokenTime(index - 1, index + 1, "mark")
    if word == "now" and _on_the_instant(given, index):
        return SpokenTime(index, index + 1, "mark")
    return None


_BEFORE_A_POINT = frozenset("after before past passed at from until till by since around about near".split())


def _told_of(given: TimeWords, index: int) -> bool:
    """'shortly after the 15 minute mark', 'passed the eleven-minute mark': a point of a count that somebody tells of, no instant."""
    at = index - 1
    if not re.search(r"(^|-)(minutes?|seconds?|hours?)$", given.at(at)):
        return False
    while at > 0 and given.at(at) not in ("the", "a", "an") and index - at < 6:
        at -= 1
    return given.at(at) in ("the", "a", "an") and given.at(at - 1) in _BEFORE_A_POINT


_OF_A_MARK = frozenset("of on at to over past high low water question the by for with from near above below reach".split())


def _unpointed(given: TimeWords, index: int) -> bool:
    """'acquisition mark', 'lights on mark five minutes ...' in writing without points: behind a word, at the end or before a length of time."""
    if index == 0 or any(given.breaks(i) for i in range(len(given.plain) - 1)) or given.at(index - 1) in _OF_A_MARK - {"on"}:
        return False
    if given.at(index - 1) == "on" and given.at(index + 1) == "":
        return False
    number = given.numbers.get(index + 1)
    timed = number is not None and given.at(number.end) in ("minute", "minutes", "second", "seconds")
    return index + 1 == len(given.plain) or timed


def _on_the_instant(given: TimeWords, index: int) -> bool:
    """'engine off... now.', 'left surface at, stand by, now': set apart from what it is said of; not 'okay, now, let's go'."""
    ends = given.breaks(index) or index + 1 == len(given.plain)
    apart = index > 0 and given.raw[index - 1].endswith(("...", "…", ","))
    only_opener = given.at(index - 1) in _OPENERS and (index == 1 or given.breaks(index - 2))
    return ends and apart and not only_opener


def count_marks(given: TimeWords, found: Sequence[SpokenTime]) -> Iterator[SpokenTime]:
    """'three, two, one, drop': the word behind a count down to one is on the instant; a long count tells the time remaining too."""
    numbers = list(given.numbers.values())
    taken = {word for time in found for word in range(time.start, time.end)}
    at = 0
    while at < len(numbers):
        end = at + 1
        while end < len(numbers) and numbers[end].value == numbers[end - 1].value - 1 and numbers[end].start == numbers[end - 1].end:
            end += 1
        if end - at >= 3 and numbers[end - 1].start not in taken:
            yield from _count(given, numbers[at], numbers[end - 1], taken)
        at = end


def _count(given: TimeWords, first: Number, last: Number, taken: set[int]) -> Iterator[SpokenTime]:
    if first.value >= 5 and first.start not in taken:
        yield SpokenTime(first.start, first.end, "countdown", plainly(first.value))
    behind = last.end
    if last.value in (0, 1) and behind not in taken:
        one_word = behind < len(given.plain) and (given.breaks(behind) or behind + 1 == len(given.plain))
        yield SpokenTime(behind if one_word else last.start, behind + 1 if one_word else last.end, "mark")

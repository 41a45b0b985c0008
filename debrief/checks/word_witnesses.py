"""Witnesses from the words around a value: what a careful reader would pause at. Common practice, no source, unless said.

Each function reads the turn's plain words and where the value's words lie, and gives numbers from 0 to 1.
"""
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from statistics import fmean

from ..harvest.parameter_words import HEADS, WEAK_HEADS
from ..harvest.talk import Talk
from ..harvest.view import View, content, stem
from ..records.rows import Row
from ..records.talk import Turn
from ..units import dimension_of
from ..wording.english import is_function_word, odd_pairs, rarity
from ..wording.protected import is_number_word

_NEAR, _CORRECTED_TURNS = 8, 4
BESIDE, CLOSE = 3, 3
_OFTEN_NO_NUMBER = frozenset("one a an half oh o won to too for ate quarter zero second".split())
_BOUNDS = re.compile(r"\b(limits?|max(imum)?|min(imum)?|faster|slower|above|below|between|should|must|until|till|when|will|would|if|unless|expect|"
                     r"plan(ned)?|target|not|don't|no more|no less|at least|at most|or (more|less)|up to)\b")
_CORRECTS = re.compile(r"\b(correction|make that|i mean|scratch that|i said|change (that|it)|actually|disregard|negative|sorry|rather)\b")
_COUNTS = re.compile(r"\b(three|3),?\.* (two|2),?\.* (one|1)\b|\b(ten|10),?\.* (nine|9),?\.* (eight|8)\b|\b(in|on my mark) (three|3|five|5|ten|10)\b")
_DIGITS = frozenset("zero oh o one two three four five six seven eight nine niner fife tree fower".split())
_TENS = frozenset("twenty thirty forty fifty sixty seventy eighty ninety".split())
_TEENS = frozenset("ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split())
_LARGE = frozenset(("hundred", "thousand"))
_SIZES = frozenset("hundred thousand and point decimal half quarter a minus plus negative".split())
_LIKE_DIGITS = frozenset("to too for fore won ate oh of free tree".split())
_ACKNOWLEDGES = frozenset("copy copied coffee roger understood thanks".split())
_JOINING = frozenset(("and", "or", "to", "in", "an"))
_OF_BOUNDS = frozenset("limit limits maximum minimum max min step card scale target goal".split())
_BETWEEN = frozenset("call say reads read reading give rate now about around shows showing plus minus maybe still just and then steady".split())
_RATE = re.compile(r"/|per ")
_NAMES = frozenset("step card part page panel program frame item section number point zone marker frame row loop channel level".split())
_HEADS = frozenset(stem(word) for word in HEADS)
_STRONG = frozenset(stem(word) for word in HEADS if word not in WEAK_HEADS)


@dataclass(frozen=True, slots=True)
class Spot:
    """A value in its turn: tokens [start, end) of the view."""

    view: View
    start: int
    end: int

    def words(self, before: int, after: int) -> tuple[str, ...]:
        return self.view.words[max(0, self.start - before):self.end + after]


def around_value(spot: Spot, row: Row, talk: Talk) -> Iterator[tuple[str, float]]:
    """What the sentence says that speaks against a plain measured value."""
    view = spot.view
    said = view.words[spot.start:spot.end]
    first, last = view.sentence(spot.start)
    sentence = " ".join(view.words[first:last])
    value = row.get("value")
    yield "value: a word that is often no number", float(all(word in _OFTEN_NO_NUMBER for word in said[:2]))
    yield "value: behind a word of numbering", float(bool(_NAMES & set(view.before(spot.start, 1))))
    yield "value: in a count", float(bool(_COUNTS.search(" ".join(spot.words(_NEAR, _NEAR)))))
    yield "value: alone in its sentence", float(last - first <= spot.end - spot.start + 1)
    yield "value: first in its turn", float(spot.start == 0 and len(view.words) > spot.end)
    yield "value: one or another", float("or" in (*view.before(spot.start, 1), *view.words[spot.end:spot.end + 1]))
    yield "turn: begins as a read-back", float(bool(_ACKNOWLEDGES & set(view.words[:2])))
    yield "turn: very long", float(len(view.words) > 60)
    if row.kind == "readouts" and (row.get("class") or "measured") == "measured":
        yield "class: words of a bound near a measured value", float(bool(_BOUNDS.search(sentence)))
        yield "class: an open range", float(row.get("value_high") is not None and not row.get("approximate"))
        yield "class: a rate", float(bool(_RATE.search(str(row.get("unit") or ""))))
    if isinstance(value, Decimal):
        yield "value: a percentage beyond all", float(row.get("unit") == "percent" and not 0 <= value <= 100)
        yield "value: digits run together", float(len(str(abs(value)).replace(".", "").lstrip("0")) > 3 and row.kind == "readouts")


def composed(spot: Spot) -> Iterator[tuple[str, float]]:
    """How the words of a number go together: values said one after another without a pause look like one number ("fifty forty six")."""
    said = spot.view.words[spot.start:spot.end]
    words = [part for word in said for part in word.split("-") if part and part not in _SIZES]
    groups = _groups(words)
    yield "value: words of several numbers", float(not _LARGE & set(said) and _is_mixed(groups))
    digits = [_digit(word) for word in words]
    known = [digit for digit in digits if digit is not None]
    counts_down = len(known) == len(words) > 2 and all(a - b == 1 for a, b in pairwise(known))
    yield "value: counts down", float(counts_down)
    yield "value: digits and a half", float("half" in said and len(words) > 1 and len(known) == len(words))
    yield "value: begins with its point", float(said[:1] in (("point",), ("decimal",)) or bool(said) and said[0].startswith("."))
    yield "value: a word like a digit beside it", float(bool(_LIKE_DIGITS & set((*spot.view.before(spot.start, 1), *spot.view.words[spot.end:spot.end + 1]))))
    numbers = spot.view.numbers
    yield "value: another number beside it", float(any(n.end == spot.start or at == spot.end for at, n in numbers.items()))
    yield "value: joined to another number", float(any(
        n.end == spot.start - 1 and spot.view.words[n.end] in _JOINING or at == spot.end + 1 and spot.view.words[spot.end] in _JOINING
        for at, n in numbers.items()))


def _is_mixed(groups: Sequence[Sequence[str]]) -> bool:
    """Whether groups are more than one number: a pair is one where its second half is a ten or a teen ("twenty three fifty", "two ten")."""
    if len(groups) == 2:
        first, second = groups
        return second[0] in _DIGITS or first[-1] in _TENS or len(first) > 1 and first[0] in _DIGITS
    return len(groups) > 2


def _groups(words: Sequence[str]) -> list[list[str]]:
    """Number words as they are spoken together: tens with their unit, else each by itself; a run of digits is one."""
    groups: list[list[str]] = []
    for word in words:
        last = groups[-1] if groups else []
        if word in _DIGITS and last and (len(last) == 1 and last[0] in _TENS or last[0] in _DIGITS):
            last.append(word)
        else:
            groups.append([word])
    return groups


def _digit(word: str) -> int | None:
    names = "zero one two three four five six seven eight nine".split()
    return int(word) if word.isdigit() and len(word) == 1 else names.index(word) if word in names else None


def surroundings(spot: Spot) -> Iterator[tuple[str, float]]:
    """How well the words around a value were heard, and how they go together as English."""
    tokens = spot.view.turn.tokens
    near = [token.probability for token in tokens[max(0, spot.start - BESIDE):spot.end + BESIDE] if token.probability is not None]
    if near:
        yield "words beside: probability", fmean(near)
        yield "words beside: lowest probability", min(near)
    words = [word for word in spot.words(_NEAR, _NEAR) if word.isalpha() and not is_number_word(word)]
    if words:
        yield "words beside: rare", fmean(map(rarity, words))
        yield "words beside: odd together", odd_pairs(words)


def corrected_near(spot: Spot, row: Row, talk: Talk) -> Iterator[tuple[str, float]]:
    """A correction in the turn, or in the turns right behind it that says this value or name again: which of them stands is often not said."""
    turn = spot.view.turn
    name = set(content(str(row.get("parameter") or row.get("axis") or row.get("clock") or "")))
    here = bool(_CORRECTS.search(" ".join(spot.view.words)))
    yield "correction: in the turn", float(here)
    yield "correction: of what is not named", float(here and not name & {stem(word) for word in spot.view.words})
    later = [index for index in range(turn.index + 1, min(turn.index + 1 + _CORRECTED_TURNS, len(talk.turns))) if _may_correct(talk, turn, index)]
    yield "correction: soon after", float(bool(later))
    yield "correction: soon after, of this value", float(any(row.get("value") in {n.value for n in talk.numbers[index]} for index in later))
    yield "correction: soon after, of this name", float(any(name & {stem(token.norm) for token in talk.turns[index].tokens} for index in later))


def _may_correct(talk: Talk, turn: Turn, index: int) -> bool:
    other = talk.turns[index]
    same = other.station == turn.station or other.station is None or turn.station is None
    return same and not other.commentary and bool(_CORRECTS.search(" ".join(token.norm for token in other.tokens)))


def about_name(spot: Spot, name: str, row: Row) -> Iterator[tuple[str, float]]:
    """Whether the name is one of a measurable thing, and where its words stand from the value."""
    stems = content(name)
    if not stems:
        return
    yield "name: a word of a bound or a step", float(bool(_OF_BOUNDS & set(name.lower().split())) and (row.get("class") or "measured") == "measured")
    yield "name: rare words", max(map(rarity, name.lower().split()))
    if row.kind == "readouts":
        known = _STRONG & set(stems)
        yield "name: a measurable thing", float(bool(known))
        yield "name: no known head", float(not _HEADS & set(stems))
        yield from _unit_fits(name, row)
    here = [i for i, word in enumerate(spot.view.words) if stem(word) in stems]
    yield "name: not in the turn", float(not here)
    if here:
        nearest = min(here, key=lambda i: abs(i - spot.start))
        yield "name: words away", min(abs(nearest - spot.start), 12) / 12
        yield "name: behind the value", float(nearest > spot.start)
        low, high = sorted((nearest, spot.start))
        yield "name: a number between", float(any(low < at < high for at in spot.view.numbers))
        yield "name: a sentence between", float(spot.view.sentence(nearest) != spot.view.sentence(spot.start))
        before = [word for word in spot.view.words[spot.view.sentence(spot.start)[0]:spot.start] if word.isalpha() and not _tells_nothing(word)]
        yield "value: behind other words", float(bool(before) and stem(before[-1]) not in stems)
        close = nearest < spot.start and spot.start - nearest <= CLOSE and not any(low < at < high for at in spot.view.numbers)
        yield "name: right before the value", float(close and spot.view.sentence(nearest) == spot.view.sentence(spot.start))
        yield "name: half said", float(len(set(stems) & {stem(word) for word in spot.view.words}) < len(set(stems)))


def _tells_nothing(word: str) -> bool:
    return is_function_word(word) or is_number_word(word) or word in _BETWEEN


def _unit_fits(name: str, row: Row) -> Iterator[tuple[str, float]]:
    unit = row.get("unit")
    dimensions = {HEADS[word].dimension for word in name.lower().split() if word in HEADS and word not in WEAK_HEADS} - {None}
    if unit and dimensions:
        fits = dimension_of(str(unit)) in dimensions
        yield "unit: of the thing's kind", float(fits)
        yield "unit: not of the thing's kind", float(not fits)


def spot_of(view: View, positions: Sequence[int]) -> Spot | None:
    """Where the value's tokens lie in the turn."""
    return Spot(view, min(positions), max(positions) + 1) if positions else None

"""Which numbers of a turn may be ratings: not measured, not counted, not a name, and led up to by words that lead to a rating."""
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise

from ..units import read_unit
from .progress import progress
from .rating_axes import AxisBook
from .readout_units import spoken_unit
from .talk import Talk
from .view import View, phrases

_PLURALS = {f"{word}s": n for n, word in enumerate("zero one two three four five".split())} | {
    "sixes": 6, "sevens": 7, "eights": 8, "nines": 9, "tens": 10}
_NOT_GIVEN = phrases("""would have | i'd have | if | yesterday | remember the scale | scale is
    goes over | goes above | more than | limit is
    is easy | is perfect | is excellent | is best | is worst | means | unless | no more than""")
_IF_ANY = phrases("if that | if anything")
_FEW = 4
_FOLLOWERS = frozenset("can't couldn't it's he she we you they down up "
                       "for from in out with because yes actually maybe or and on though again now please this at but if since mind no "
                       "about overall both too then as i it there my hm um uh over that still".split())
HEDGES = phrases("maybe | perhaps | probably | possibly | or | more like | and a bit | close to | nearly | almost | borderline | could be | hm")
_JOINED = frozenset("is are was were a an the both that's i'd say call it's it give rate them of 's well so um uh and rating point "
                    "points with like roughly about maybe around overall still score".split())
_PUTS_RIGHT = frozenset("no sorry actually correction rather".split())
_HOMOPHONES = {"to": 2, "too": 2, "for": 4, "fore": 4, "won": 1, "ate": 8, "sex": 6, "tree": 3, "force": 4}
"""What recognisers write for a digit; believed only at the end of a clause, right behind what is rated or behind 'call it', and then doubtful."""
_LEADS_TO_IT = frozenset((("call", "it"), ("give", "it"), ("say", "a"), ("call", "that"), ("make", "it"), ("it", "a"), ("that", "a")))
_RATING_VERBS = frozenset("rate rated rating put give call called say".split())


@dataclass(frozen=True, slots=True)
class Value:
    """of: the height of the scale, where it is said ('four out of ten'); alike: heard as a word that sounds like the digit."""

    start: int
    end: int
    value: Decimal
    of: Decimal | None = None
    alike: bool = False


def values(talk: Talk, book: AxisBook, view: View, free: bool = False) -> list[Value]:
    """The numbers of a turn that may be ratings, in order. free: what no plan lists is rated just now."""
    found = [Value(n.start, n.end, n.value, alike=n.alike) for n in view.numbers.values() if n.value_high is None and n.form != "ordinal"]
    known = {v.start for v in found}
    found += [Value(i, i + 1, Decimal(_PLURALS[w])) for i, w in enumerate(view.words) if w in _PLURALS and i not in known]
    found += [v for v in _misheard(talk, book, view) if v.start not in known]
    tops = {n.start: n.value for n in view.numbers.values()}
    found = [replace(v, of=tops.get(v.end + 2)) if view.has(("out", "of"), v.end) else v for v in found]
    standing = sorted((v for v in found if _stands(talk, book, view, v, free)), key=lambda v: v.start)
    measured = {n.end for n in view.numbers.values() if spoken_unit(view, n.start, n.end) is not None}
    standing = [v for v in standing if not any(end < v.start <= end + 2 for end in measured)] if measured else standing
    counted = any(a.end == b.start and a.value == b.value + 1 for a, b in pairwise(standing))
    return [] if counted else standing


def _misheard(talk: Talk, book: AxisBook, view: View) -> list[Value]:
    """Words that sound like a digit where only a rating fits: 'contact, call it for', 'breathing to'."""
    found: list[Value] = []
    inside = {i for n in view.numbers.values() for i in range(n.start, n.end)}
    for i, word in enumerate(view.words):
        if word not in _HOMOPHONES or i in inside or not i or view.turn.tokens[i].span is None:
            continue
        mentions = book.find(view, progress(talk).at(view.turn.index).card)
        closed = i + 1 == len(view.words) or view.turn.tokens[i].ends_clause or any(
            m.start == i + 1 and m.end in view.numbers for m in mentions)  # 'sensation too shivering one'
        start = view.sentence(i)[0]
        open_axis = any(m.start >= start and m.end <= i and not any(m.end <= at < i for at in view.numbers) for m in mentions)
        if closed and open_axis and (any(m.end == i for m in mentions) or view.before(i, 2) in _LEADS_TO_IT):
            found.append(Value(i, i + 1, Decimal(_HOMOPHONES[word]), alike=True))
    return found


def _stands(talk: Talk, book: AxisBook, view: View, value: Value, free: bool) -> bool:
    if talk.claimed(view.turn, value.start, value.end) or value.value % Decimal("0.5") or not _led(talk, book, view, value.start):
        return False
    if not view.turn.tokens[value.end - 1].ends_clause and read_unit(view.words, value.end):
        return False
    first, stop = view.sentence(value.start)
    idiom = view.find(_IF_ANY, first, stop)
    was = view.before(value.start, 2) in (("it", "was"), ("that", "was"))
    behind = view.before(value.start, 1) in (("of",), ("to",), ("over",), ("above",), ("number",))
    if (view.find(_NOT_GIVEN, first, stop) and idiom is None) or was or behind and not _a_misheard(talk, book, view, value):
        return False
    after = view.words[value.end:value.end + 1]
    led_axis = not view.turn.tokens[value.end - 1].ends_clause and value.start == view.clause(value.start)[0] and any(
        m.start == value.end for m in book.find(view, progress(talk).at(view.turn.index).card))
    return not after or view.turn.tokens[value.end - 1].ends_clause or after[0] in _FOLLOWERS or led_axis or _list_goes_on(talk, book, view, value) \
        or free and _freely_followed(view, value)


def _list_goes_on(talk: Talk, book: AxisBook, view: View, value: Value) -> bool:
    """'Sensation three shivering nought', 'comfort two the left strap', written without a comma: the next axis follows, or a remark."""
    mentions = book.find(view, progress(talk).at(view.turn.index).card)
    return any(m.start == value.end for m in mentions) or view.words[value.end] == "the" and any(m.end == value.start for m in mentions)


def _freely_followed(view: View, value: Value) -> bool:
    """'Three vertical, four lateral', 'steering four ride a three': a word or two that end the clause, or that the next rating is of."""
    stop = view.clause(value.start)[1]
    if value.start == view.clause(value.start)[0] and stop - value.end <= 2:
        return True
    following = min((at for at in view.numbers if at >= value.end), default=stop + _FEW)
    return following - value.end <= _FEW and spoken_unit(view, following, view.numbers[following].end) is None


def _a_misheard(talk: Talk, book: AxisBook, view: View, value: Value) -> bool:
    """'Warmth to three', 'headrest is of five': right behind an axis to be rated, 'of' and 'to' are 'a' misheard."""
    ends = {m.end for m in book.find(view, progress(talk).at(view.turn.index).card)}
    closed = view.words[value.start - 1] in ("of", "to") and (value.end == len(view.words) or view.turn.tokens[value.end - 1].ends_clause)
    return closed and value.start - (2 if view.words[value.start - 2] in ("is", "it's", "still", "about") else 1) in ends


def _led(talk: Talk, book: AxisBook, view: View, start: int) -> bool:
    """Behind a clause's begin, an axis, a scale or a word that leads to a rating; not behind a noun ('notch four')."""
    if start == view.clause(start)[0] or view.words[start - 1] in _JOINED or view.words[start - 1] in HEDGES or view.words[start - 1] in ("of", "to"):
        return True
    if view.words[start - 1] in ("card", "step", "number"):
        return False
    first = view.clause(start)[0]
    if view.before(start, 2) in (("make", "that"), ("call", "that")):
        return True
    if start - 1 == first and view.words[first] in _PUTS_RIGHT or view.words[first] in ("with", "without") and start - first <= 3:
        return True
    if view.words[start - 1] == "at" and set(view.before(start - 1, 4)) & _RATING_VERBS:
        return True
    axes = book.find(view, progress(talk).at(view.turn.index).card)
    if (scale := book.scale_at(view, 0)) is not None and view.words[scale[0]:scale[0] + 1] == ("for",) and start - scale[0] <= _FEW:
        return True  # 'workload for the exit seven'
    scales = (book.scale_at(view, index) for index in range(max(0, start - 3), start))
    return any(m.end == start for m in axes) or any(found is not None for found in scales)

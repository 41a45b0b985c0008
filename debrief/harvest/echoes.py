"""Values that only say again what another has just said: acknowledged, read back, told anew against a wrong read-back, seen the same elsewhere.

They were told, or ordered, where they were said first. Common practice, no source.
"""
import re
from collections.abc import Sequence
from decimal import Decimal

from ..records.talk import Turn
from .readout_found import Found
from .readout_words import FILLERS
from .talk import Talk
from .view import View, views

_ACKNOWLEDGED = re.compile(r"\b(wilco|understood|copied|copy|noted|got it|no problem|acknowledged?|will do|aye|roger)\b")
_COPIES = re.compile(r"\b(i copy|copy|copied|i copied|read you|you said|i read back)\b")
_SAYS_NO = re.compile(r"^(ah |uh |oh |er )?(no|negative|wrong|incorrect|not correct|i say again|say again)\b")
_SAME = re.compile(r"\b(same|likewise|agrees?|agreed|concurs?)\b")
_ASKS = re.compile(r"\?|\b(isn't it|is it|wasn't it|right|correct|aren't we|are we|confirm)\W*$")
_CONFIRMS = frozenset("yes yeah yep".split())
_LED = frozenset("to at under over above below left right by past".split())
_NEAR, _ACK_WORDS, _SHORT = 2, 4, 8


def said_again(talk: Talk, view: View, found: Sequence[Found]) -> list[Found]:
    """The values of a turn but those that another's words before it hold already."""
    turn = view.turn
    before = talk.turns[turn.index - 1] if turn.index else None
    if before is None or before.station is not None and before.station == turn.station:
        return list(found)
    if not found:
        return []
    last = {value for index in range(max(0, turn.index - _NEAR), turn.index) for value in _values(talk, index)}
    corrected = _put_right(talk, view, before)
    return [item for item in found if item.number.value is None or not (
        item.number.value in corrected or item.number.value in last and (_acknowledged(view, item, last) or _same(view, item) or _opens(talk, view, item, before))
        or _copied(view, item, found, last) or _repeated(talk, view, item, before))]


def _values(talk: Talk, index: int) -> set[Decimal]:
    return {value for number in talk.numbers[index] for value in (number.value, number.value_high) if value is not None}


def _reports(item: Found) -> bool:
    """'Copy, pressure is forty': named anew, with a verb of reading."""
    return item.phrase is not None and item.phrase.link == "verb" and bool(item.words) and not item.how


def _acknowledged(view: View, item: Found, last: set[Decimal]) -> bool:
    """'Under three thousand, no problem', 'below 180, wilco', 'flush at 1.4, understood': nothing else is told in the sentence."""
    first, stop = view.sentence(item.number.start)
    whole = all(number.value in last for at, number in view.numbers.items() if first <= at < stop)
    behind = view.sentence(stop) if stop < len(view.words) else (stop, stop)
    stop = behind[1] if behind[1] - behind[0] <= _ACK_WORDS else stop
    return whole and not _reports(item) and bool(_ACKNOWLEDGED.search(" ".join(view.words[first:stop])))


def _same(view: View, item: Found) -> bool:
    """'I see the same on the link, 108'."""
    first, stop = view.clause(item.number.start)
    lead = view.clause(first - 1)[0] if first > view.sentence(first)[0] else first
    return item.head is None and item.planned is None and bool(_SAME.search(" ".join(view.words[lead:stop])))


def _opens(talk: Talk, view: View, item: Found, before: Turn) -> bool:
    """'... raise the crown to 2.5.' '2.5. Slurry feed ...': a turn that opens with the last number said, and names nothing for it."""
    numbers = talk.numbers[before.index]
    lead = [word for word in view.words[:item.number.start] if word not in FILLERS - _CONFIRMS and word != ""]
    same = bool(numbers) and item.number.value in (numbers[-1].value, numbers[-1].value_high)
    return same and not lead and not _ASKS.search(before.text.lower()) and (bool(item.how) or not item.words)


def _copied(view: View, item: Found, found: Sequence[Found], last: set[Decimal]) -> bool:
    """'I copy one six eight bar and sixty one degrees', right or wrong, where one of them was just told."""
    first, _ = view.sentence(item.number.start)
    alike = [one for one in found if view.sentence(one.number.start)[0] == first]
    return not _reports(item) and len(alike) > 1 and any(one.number.value in last for one in alike) \
        and bool(_COPIES.search(" ".join(view.words[first:alike[0].number.start])))


def _repeated(talk: Talk, view: View, item: Found, before: Turn) -> bool:
    """'... under eighty, over one fifty or under forty.' 'Eighty, one fifty, forty.'; 'take it to five bar.' 'Charging to five bar.': what was just
    said and nothing else, or the same value behind the same small word in a short answer."""
    if _ASKS.search(before.text.lower()) or _reports(item):
        return False
    said, start = views(talk)[before.index], item.number.start
    values = [number.value for number in view.numbers.values()]
    told = {i for number in view.numbers.values() for i in range(number.start, number.end)}
    rest = [word for i, word in enumerate(view.words) if i not in told and word not in FILLERS | {"", "and", "to", "on", "over", "under"}]
    if len(values) > 1 and len(rest) <= 1 and set(values) <= _values(talk, before.index):
        return True
    led = view.words[start - 1] if start else ""
    return led in _LED and len(view.words) <= _SHORT and len(values) == 1 and any(
        number.value == values[0] and said.words[number.start - 1:number.start] == (led,) for number in said.numbers.values())


def _put_right(talk: Talk, view: View, before: Turn) -> set[Decimal]:
    """'Negative. One nine zero.': what was said two or three turns before, and then read back as something else."""
    if not _SAYS_NO.match(" ".join(view.words)) or len(view.numbers) > 1 or not talk.numbers[before.index] or _ASKS.search(before.text.lower()):
        return set()
    read_back = _values(talk, before.index)
    earlier = {value for index in range(max(0, before.index - _NEAR), before.index) for value in _values(talk, index)}
    return earlier - read_back

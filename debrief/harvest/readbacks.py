"""Read-backs: one party says a value or an instruction again; compared by meaning, not by wording.

Meaning: the values (as numbers, either fair reading), the sense (open or closed, left or right, on or off ...), and for an instruction
without numbers the words that carry it. Common practice, no source: a read-back repeats the value, not 'copy'; it comes from another
station within a few turns; the first party puts a wrong one right with 'negative' or by saying the value again.
"""
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from ..records.rows import Field, Row
from ..records.talk import Number, Turn
from .names import callsign_pairs, name_like
from .talk import Talk, part
from .view import View, once, stem, views

REACH = 3
_ACK = frozenset("roger copy copied wilco understand understood okay ok affirm affirmative yes right thanks thank got correct check".split())
_OPPOSITES = (("open", "closed"), ("open", "close"), ("on", "off"), ("left", "right"), ("up", "down"), ("armed", "safe"), ("high", "low"),
              ("north", "south"), ("east", "west"), ("forward", "aft"), ("port", "starboard"), ("start", "stop"), ("in", "out"))
_SENSES = frozenset(word for pair in _OPPOSITES for word in pair)
_EMPTY = frozenset("the a an and to at of is are it you your i my we our that this on for in be have has will would roger okay copy over now please "
                   "understand so well this from with as okay uh um they he she do did me us was".split())
_PUTS_RIGHT = re.compile(r"^(\W*(ah|uh|no|negative|correction|that's|say again)\b.*)?\b(negative|correction|no,|wrong|not \w+|i say again|make that)\b")
_CONFIRMS = re.compile(r"\b(that's (affirm|affirmative|correct|right)|that is (affirm|affirmative|correct)|affirmative|confirm that)\b")
_ASKS_BACK = re.compile(r"\b(right|correct|is that (right|correct|affirm)|understand|confirm)\b[^?]*\?")


@dataclass(frozen=True, slots=True)
class Pair:
    """A turn, the turn that says it again, and what is told of them."""

    said: Turn
    back: Turn
    item: str
    match: bool
    given: str
    returned: str
    verdict: str


def readbacks(talk: Talk) -> list[Row]:
    """Rows of the table readbacks, one for each pair of turns."""
    seen = views(talk)
    turns = [turn for turn in talk.operational()]
    rows, used = [], set[tuple[int, int]]()
    for position, turn in enumerate(turns):
        for said in reversed(turns[max(0, position - REACH):position]):
            if said.station == turn.station and said.station is not None:
                continue
            pair = _pair(talk, seen[said.index], seen[turn.index])
            if pair is not None and (said.index, turn.index) not in used:
                used.add((said.index, turn.index))
                rows.append(_row(talk, pair, turns[position + 1:position + 4]))
                break
    return rows


def _pair(talk: Talk, said: View, back: View) -> Pair | None:
    if back.turn.index - said.turn.index > REACH + 2 or not back.words or back.words[0] in ("negative", "no", "correction"):
        return None
    return _by_values(talk, said, back) or _by_words(said, back) or _confirmed(said, back)


_VALUES = frozenset(("readouts", "times", "clock_calls", "identifiers", "comparisons"))


def _values(talk: Talk, view: View) -> list[Number]:
    """The numbers of a turn that are values: told as one, or told as nothing else and no name. A rating repeated is no read-back."""
    pairs = once(talk, "callsign pairs", lambda given: callsign_pairs(list(given.turns), given.numbers))
    found = []
    for number in view.numbers.values():
        kind = talk.claimed(view.turn, number.start, number.end)
        if kind in _VALUES or (kind is None and not name_like(view, number, pairs)):
            found.append(number)
    return found


def _told_anew(talk: Talk, view: View, number: Number) -> bool:
    """The number stands in a readout or a call of this very turn: the station tells a value of its own."""
    return talk.claimed(view.turn, number.start, number.end) is not None


def _opens(view: View, number: Number) -> bool:
    """Near the head of the turn: behind words of acknowledging, its callsign, and little else."""
    before = [word for word in view.words[:number.start] if word not in _ACK and word not in _EMPTY]
    return len(before) <= 4


def _by_values(talk: Talk, said: View, back: View) -> Pair | None:
    given, returned = _values(talk, said), _values(talk, back)
    if not given or not returned or "?" in back.turn.tokens[-1].text and not _ASKS_BACK.search(back.turn.text.lower()) and len(back.words) > 5:
        return None
    heads = [number for number in returned if _opens(back, number) or len(returned) > 6][:40]
    equal = [number for number in heads if any(_same(number, other) for other in given)]
    anew = [number for number in heads if number not in equal and _told_anew(talk, back, number)]
    heads = [number for number in heads if number not in anew]
    if not heads or (anew and len(anew) >= len(equal)) or (said.turn.text.rstrip().endswith("?") and not _ASKS_BACK.search(said.turn.text)):
        return None
    if equal and len(equal) == len(heads):
        return _made(said, back, given, heads, True)
    if equal and _acknowledges(back) and len(heads) - len(equal) == 1:
        return _made(said, back, given, heads, not _swapped(heads, equal, given, back))
    if equal:
        return _made(said, back, given, heads, True) if len(equal) >= len(heads) / 2 and back.numbers and _short(back) else None
    if _short(back) and _looks_returned(said, back, given, heads):
        return _made(said, back, given, heads, False)
    return None


def _short(view: View) -> bool:
    return len(view.words) <= 12


def _acknowledges(view: View) -> bool:
    return bool(_ACK & set(view.words[:3])) or _short(view)


def _swapped(heads: Sequence[Number], equal: Sequence[Number], given: Sequence[Number], back: View) -> bool:
    """One of several values came back as something like it: the wrong figure among right ones."""
    odd = [number for number in heads if number not in equal]
    return any(_alike(number, other) for number in odd for other in given) and _short(back)


def _same(one: Number, other: Number) -> bool:
    readings: set[Decimal] = {one.value, *one.others}
    theirs: set[Decimal] = {other.value, *other.others, *([other.value_high] if other.value_high is not None else [])}
    return bool(readings & theirs) or one.text.lstrip("0").replace(".", "") == other.text.lstrip("0").replace(".", "")


def _alike(one: Number, other: Number) -> bool:
    """The same digits in another order, or one digit changed: how a value comes back wrong."""
    a, b = one.text.replace(".", ""), other.text.replace(".", "")
    if sorted(a) == sorted(b) and a != b:
        return True
    return len(a) == len(b) > 1 and sum(x != y for x, y in zip(a, b, strict=True)) == 1


def _looks_returned(said: View, back: View, given: Sequence[Number], heads: Sequence[Number]) -> bool:
    """Values that differ and still are a read-back: they are alike, or stand in the same words, and the turn opens with them."""
    if said.turn.text.rstrip().endswith("?"):
        return False
    alike = any(_alike(number, other) for number in heads for other in given)
    words = {stem(w) for w in back.words} & {stem(w) for w in said.words} - {stem(w) for w in _EMPTY}
    opens = heads[0].start <= 2
    return opens and alike and (_acknowledges(back) or bool(words))


def _by_words(said: View, back: View) -> Pair | None:
    """An instruction or a state without numbers: most of what comes back was said, and it carries a sense."""
    theirs = {stem(word) for word in said.words if word not in _EMPTY and word not in _ACK}
    own = [word for word in back.words if word not in _EMPTY and word not in _ACK and not _is_name(back, word)]
    if not 1 <= len(own) <= 8 or back.turn.index - said.turn.index > 1 or back.turn.text.rstrip().endswith("?"):
        return None
    if said.turn.text.rstrip().endswith("?") and not (set(own) & _SENSES):
        return None
    plain = {token.norm for token in back.turn.tokens if token.text[:1].islower() or token.text.isupper() or token.norm in _SENSES}
    shared = [word for word in own if stem(word) in theirs]
    if not set(shared) & plain:
        return None
    sense = [word for word in own if word in _SENSES]
    wrong = [word for word in sense if word not in said.words and _opposite(word) & set(said.words)]
    if len(shared) >= 2 and len(shared) >= 0.6 * len(own) and (_acknowledges(back) or sense):
        return Pair(said.turn, back.turn, " ".join(shared), not wrong, said.turn.text, back.turn.text, "wrong" if wrong else "right")
    return None


def _is_name(view: View, word: str) -> bool:
    return any(word in view.words[mention.start:mention.end] for mention in view.names)


def _opposite(word: str) -> set[str]:
    return {b if a == word else a for a, b in _OPPOSITES if word in (a, b)}


def _confirmed(said: View, back: View) -> Pair | None:
    """'... right?' - 'That's affirmative.': the one who asked has read it back, the other confirms."""
    if back.turn.index - said.turn.index != 1 or not _ASKS_BACK.search(said.turn.text.lower()) or len(said.words) < 6:
        return None
    if not _CONFIRMS.search(back.turn.text.lower()):
        return None
    return Pair(said.turn, back.turn, "what was asked is confirmed", True, said.turn.text, back.turn.text, "right")


def _made(said: View, back: View, given: Sequence[Number], heads: Sequence[Number], match: bool) -> Pair:
    verdict = "right" if match and len(heads) >= len(given) else "partial" if match else "wrong"
    return Pair(said.turn, back.turn, " ".join(number.text for number in heads), match,
                " ".join(number.text for number in given), " ".join(number.text for number in heads), verdict)


def _row(talk: Talk, pair: Pair, after: Sequence[Turn]) -> Row:
    evidence = (part(pair.back, "read back"), part(pair.said, "said"))
    by_line = pair.back.line_index is not None and pair.said.line_index is not None
    places = {"said_line": pair.said.line_index, "readback_line": pair.back.line_index} if by_line else {
        "said_s": pair.said.start_s, "readback_s": pair.back.start_s}
    fields = {name: Field(value, "spoken") for name, value in places.items()}
    corrected = not pair.match and _put_right(talk, pair, after)
    verdict = "wrong, then corrected" if corrected else pair.verdict
    fields |= {"item": Field(pair.item, part=0), "said": Field(pair.given, part=1), "readback": Field(pair.returned, part=0),
               "match": Field(pair.match, "spoken"), "corrected": Field(corrected, "spoken"), "verdict": Field(verdict, "spoken")}
    look = () if pair.match or corrected else ("wrong read-back, not put right",)
    return Row("readbacks", fields, evidence, pair.back.loop, pair.back.station, pair.back.index, look)


def _put_right(talk: Talk, pair: Pair, after: Sequence[Turn]) -> bool:
    """Within three turns, the one who said it says it again, or says that it was wrong."""
    for turn in after:
        own = turn.station == pair.said.station or pair.said.station is None
        again = any(_same(a, b) for a in talk.numbers[turn.index] for b in talk.numbers[pair.said.index])
        if own and (_PUTS_RIGHT.search(turn.text.lower()) or again):
            return True
    return False

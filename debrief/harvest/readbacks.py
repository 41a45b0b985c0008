"""Read-backs: one party says a value or an instruction again; compared by meaning, not by wording.

Common practice, no source: a read-back repeats the value, not 'copy'; it comes from another station within a few turns; the first
party puts a wrong one right with 'negative' or by saying the value again. Who calls a third station relays, and reads nothing back.
"""
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ..records.rows import Field, Part, Row
from ..records.talk import Turn
from .meaning import ACKNOWLEDGES, NUMERIC, Comparison, Meaning, changed_digits, compare, meaning_of, same_value, text_of
from .poll_rounds import rounds
from .readback_forms import asks_about, bare_wrong, echoed_head, leading_values, of_itself, only_ready, only_values, same_digits, turned, word_by_word
from .talk import Talk, part
from .view import View, stem, views

REACH, REACH_ASKED, REACH_LISTS = 3, 8, 20
LIST = 4
_NEAR_HEAD = 2
_SOON_S, _BREATH_S = 8.0, 1.0
_PUTS_RIGHT = re.compile(r"\b(negative|correction|wrong|not \w+|i say again|make that|i said)\b|^\W*(ah,? |uh,? )?no\b")
_THANKS = frozenset("thank thanks that's".split())
_THANKS_BEHIND = frozenset("thank thanks copy copied roger understood".split())
"""A sentence behind a bare value that takes it for read back: 'Four point eight. Thank you.'"""
_MOVES = frozenset("stop start hold up down north south east west left right in out".split())
_OPENS_OTHERWISE = frozenset(("negative", "no", "correction", "say"))
_CONFIRMS = re.compile(r"\b(that's (affirm|affirmative|correct|right)|that is (affirm|affirmative|correct)|affirmative|confirm that)\b")
_ASKS_BACK = re.compile(r"\b(right|correct|is that (right|correct|affirm)|affirm)\W*\?")
_REQUESTS = re.compile(r"\b(would|will|can|could) you\b|\b(confirm|verify|check) (that )?\b")
_SAY_AGAIN = re.compile(r"\b(say (it |that |the \w+ )?again|repeat|come again|again please|what was that)\b")
_ASKED_FOR = re.compile(r"\b(read (it |that |them )?back|say (it|that|them) back|did you (get|copy)|do you copy)\b")
_NO_ORDER = frozenset("go no mark".split())
"""Words of answers to a poll and of marks: who says them too reads no order back."""
_QUOTES = re.compile(r"\b(understand|copy|check|confirm|i copied)\b")


@dataclass(frozen=True, slots=True)
class Pair:
    """A turn and the turn that says it again.

    wrong: what came back wrong, in words ('' = right); missing: how many values did not come back.
    """

    said: Turn
    back: Turn
    item: str
    given: str
    returned: str
    wrong: str = ""
    missing: int = 0


def readbacks(talk: Talk) -> list[Row]:
    """Rows of the table readbacks, one for each pair of turns."""
    rows: list[Row] = []
    done: set[tuple[int, str | None]] = set()
    turns = list(talk.operational())
    wrong: Pair | None = None
    for position, turn in enumerate(turns):
        pair = None if wrong is not None and _corrects(talk, wrong, turn) else next(_pairs(talk, turns, position, done), None)
        wrong = pair if pair is not None and pair.wrong else None
        if pair is not None:
            if not pair.wrong:
                done.add((pair.said.index, turn.station))
            rows.append(_row(talk, pair, turns[position + 1:position + 5]))
    return rows


def _corrects(talk: Talk, wrong: Pair, turn: Turn) -> bool:
    """Whether a turn, right behind a wrong read-back, says again what was said at first: it corrects, and reads nothing back."""
    if turn.station is not None and turn.station == wrong.back.station:
        return False
    said, back = talk.numbers[wrong.said.index], talk.numbers[wrong.back.index]
    return any(same_value(number, one) and not any(same_value(number, other) for other in back) for number in talk.numbers[turn.index] for one in said)


def _pairs(talk: Talk, turns: Sequence[Turn], position: int, done: set[tuple[int, str | None]]) -> Iterator[Pair]:
    """Pairs of this turn with one before it, the nearest first."""
    seen, turn = views(talk), turns[position]
    view = seen[turn.index]
    if not view.words or view.words[0] in _OPENS_OTHERWISE or asks_about(view) or of_itself(view) or only_ready(view):
        return
    asked = any(_ASKED_FOR.search(earlier.text.lower()) for earlier in turns[max(0, position - 2):position])
    for head in dict.fromkeys((_head(view), _clause_head(view), leading_values(view) or _head(view), only_values(view) or _head(view))):
        back = meaning_of(talk, view, head=head)
        if not back.acknowledges and back.values and view.words[head:head + 1] and view.words[head] in _THANKS_BEHIND:
            back = replace(back, acknowledges=True)
        if asked or not _repeats_itself(talk, turns, position, back, done):
            yield from _before(talk, turns, position, (view, back, asked), done)


def _before(talk: Talk, turns: Sequence[Turn], position: int, given: tuple[View, Meaning, bool],
            done: set[tuple[int, str | None]]) -> Iterator[Pair]:
    """Pairs of a turn's meaning with turns before it, the nearest first."""
    seen, turn = views(talk), turns[position]
    view, back, asked = given
    reach = REACH_LISTS if len(back.values) >= LIST else REACH_ASKED if asked else REACH
    for offset in range(1, min(reach, position) + 1):
        said = turns[position - offset]
        if not _may_answer(seen[said.index], view) or ((said.index, turn.station) in done and not asked):
            continue
        if offset > REACH and len(back.values) < LIST and not asked:
            continue
        if offset > 1 and _unknown(said, turn) and any(_SAY_AGAIN.search(turns[i].text.lower()) for i in range(position - offset + 1, position)):
            continue
        asked_all = rounds(talk).get(said.index)
        if asked_all and (said.index in asked_all.asking or not view.numbers and any(said.index == call[0] for call in asked_all.calls)):
            continue  # 'Can I have water?' 'Have water.': a poll
        pair = _compared(talk, seen[said.index], view, (back, meaning_of(talk, seen[said.index])), offset)
        head = echoed_head(seen[said.index], view) if pair is None and offset == 1 else 0
        if head:
            pair = _compared(talk, seen[said.index], view, (meaning_of(talk, view, head=head), meaning_of(talk, seen[said.index])), offset, head)
        if pair is None and (whole := _told_on(talk, turns, position - offset)) is not None:
            pair = _compared(talk, seen[said.index], view, (back, whole), offset)
        if pair is not None:
            yield pair


def _told_on(talk: Talk, turns: Sequence[Turn], position: int) -> Meaning | None:
    """The meaning of a turn with the one before it, of which it is the rest by the sound: cut in two at a breath."""
    before, turn = turns[position - 1] if position else None, turns[position]
    if before is None or before.line_index is not None or not _goes_on(before, turn):
        return None
    first, rest = (meaning_of(talk, views(talk)[item.index]) for item in (before, turn))
    if not first.values or not rest.values:
        return None
    return replace(rest, values=first.values + rest.values, words=first.words | rest.words, senses=first.senses | rest.senses)


def _goes_on(before: Turn, turn: Turn) -> bool:
    same = before.station == turn.station or None in (before.station, turn.station)
    return same and before.loop == turn.loop and before.end_s is not None and turn.start_s is not None and turn.start_s - before.end_s < _BREATH_S


def _repeats_itself(talk: Talk, turns: Sequence[Turn], position: int, back: Meaning, done: set[tuple[int, str | None]]) -> bool:
    """The station has said the value itself a moment before: it corrects or repeats, and reads nothing back.

    But not where the other one has just put it right, or has reported the value since, and did not merely read it back.
    """
    turn, before = turns[position], turns[position - 1] if position else None
    if before is not None and before.station != turn.station and back.values and any(
            same_value(number, back.values[0].number) for number in talk.numbers[before.index]):
        if _PUTS_RIGHT.search(before.text.lower()):
            return False
        own_order = any((earlier.index, before.station) in done for earlier in turns[max(0, position - REACH):position])
        if not own_order and (_opens_with_value(views(talk)[turn.index]) or len(back.words) <= 1):
            return False
    own = [earlier for earlier in turns[max(0, position - REACH):position] if earlier.station == turn.station and turn.station is not None]
    return bool(back.values) and len(back.values) < LIST and any(
        same_value(number, back.values[0].number) for earlier in own for number in talk.numbers[earlier.index])


def _head(view: View) -> int:
    """Where the part of a turn ends that may read back: its first sentence that says something; all of a list."""
    if len(view.numbers) >= LIST:
        return len(view.words)
    said = 0
    for i, token in enumerate(view.turn.tokens):
        said += view.words[i] not in ACKNOWLEDGES and not _is_named(view, i)
        one_word = (said == 1 and i == 0 and 0 not in view.numbers) or (i < 4 and view.words[0] in _THANKS) or _only_confirms(view, i)
        if said and not one_word and token.ends_sentence and not token.text.endswith("..."):
            return i + 1
    return len(view.words)


def _only_confirms(view: View, index: int) -> bool:
    """'That is affirmative.', 'That's the configuration.': a sentence of that kind, behind which what is confirmed may be said again."""
    first, stop = view.sentence(index)
    return view.words[first:first + 1] in (("that's",), ("that",)) and stop - first <= 4 and stop < len(view.words)


def _clause_head(view: View) -> int:
    """The end of the clause that holds the first value: what recognisers write with commas alone."""
    first = min(view.numbers, default=None)
    return _head(view) if first is None or view.turn.tokens[0].span is None or len(view.numbers) >= LIST else next(
        (i + 1 for i, token in enumerate(view.turn.tokens) if i >= view.numbers[first].end - 1 and token.ends_clause), len(view.words))


def _is_named(view: View, index: int) -> bool:
    return any(mention.start <= index < mention.end for mention in view.names)


def _may_answer(view_of_said: View, view: View) -> bool:
    """Another station, on a loop that both may hear, and the turn calls no third station."""
    said, turn = view_of_said.turn, view.turn
    if said.station == turn.station and said.station is not None:
        return False
    if said.loop and turn.loop and said.loop != turn.loop and turn.addressee != said.station:
        return False
    if said.addressee not in (None, turn.station, said.station) and turn.station is not None and _calls(view_of_said):
        return False  # told to another station
    called = next((name.station for name in view.names if name.start <= 3 and name.start < _head(view) and not name.group
                   and turn.tokens[name.end - 1].ends_clause and not _inside_number(view, name.start)), None)
    return called is None or said.station is None or called in (said.station, turn.station)


def _calls(view: View) -> bool:
    """Whether the turn says to whom it speaks and from whom it comes."""
    return len(view.names) > 1 and view.names[0].start <= _NEAR_HEAD and view.names[1].start - view.names[0].end <= _NEAR_HEAD and (
        view.names[1].station == view.turn.station)


def _inside_number(view: View, index: int) -> bool:
    """'three point four' names no station that is called Four."""
    return any(number.start < index < number.end for number in view.numbers.values())


def _compared(talk: Talk, said: View, view: View, meanings: tuple[Meaning, Meaning], offset: int, head: int = 0) -> Pair | None:
    """The pair of a turn said and a turn that says it again; meanings: of the second, then of the first."""
    back, given = meanings
    found = compare(given, back)
    if offset == 1 and same_digits(given, back) and not back.words and _soon(said.turn, view.turn):
        return Pair(said.turn, view.turn, text_of(back.values), text_of(given.values), text_of(back.values))
    if _returns_values(said.turn, view, (given, back, found), offset):
        wrong = {pair[0].number.value for pair in found.wrong}
        missing = len({v.number.value for v in given.values if not v.name and v.number.value not in wrong
                       and not any(same_value(v.number, other.number) for other in back.values)})
        return Pair(said.turn, view.turn, text_of(found.equal) or text_of([b for _, b in found.wrong]), text_of(given.values),
                    text_of(back.values), _what_is_wrong(found), missing)
    wrong_one = bare_wrong(talk, said.turn, view, (meaning_of(talk, said, rated=True), meaning_of(talk, view, head=_head(view))))
    if wrong_one is not None:
        return Pair(said.turn, view.turn, text_of([wrong_one[1]]), text_of(given.values), text_of(back.values),
                    f"{text_of([wrong_one[1]])} for {text_of([wrong_one[0]])}")
    rates = any(talk.claimed(view.turn, n.start, n.end) == "ratings" for n in view.numbers.values() if n.start <= _head(view))
    if offset == 1 and not rates and (_returns_words(said, view, (given, back, found)) or _returns_order(said, view, (given, back, found), head or _head(view))):
        return Pair(said.turn, view.turn, " ".join(sorted(found.shared)), said.turn.text, view.turn.text, found.sense)
    if offset == 1 and _ASKS_BACK.search(said.turn.text.lower()) and len(said.words) >= 6 and _CONFIRMS.search(view.turn.text.lower()):
        return Pair(said.turn, view.turn, "what was asked is confirmed", said.turn.text, view.turn.text)
    return None


def _what_is_wrong(found: Comparison) -> str:
    told = [f"{text_of([returned])} for {text_of([given])}" for given, returned in found.wrong]
    return "; ".join([*told, found.sense] if found.sense else told)


def _returns_values(said: Turn, view: View, meanings: tuple[Meaning, Meaning, Comparison], offset: int) -> bool:
    """Whether the values of the second are those of the first said again, rightly or wrongly."""
    given, back, found = meanings
    new = [value for value in found.new if not value.name]
    if not (found.equal or found.wrong) or len(new) >= len(found.equal) + len(found.wrong) or all(v.name for v in back.values):
        return False
    if given.asks and not _requests_or_confirms(said):
        return False
    told = [value for value in back.values if not value.name]
    if len(told) >= LIST:
        if _unknown(said, view.turn) and not (offset == 1 and back.acknowledges):
            return False
        signs = sum(one.number.value == -other.number.value for one, other in found.wrong)
        return len(found.equal) + signs >= 0.7 * len(told) and not (new and not back.acknowledges and offset > REACH)
    own = back.words - given.words
    bare = len(own) <= 2
    if back.asks and not (bare and not found.wrong):
        return False
    if _unknown(said, view.turn):
        single = [value.unit is None and len(value.number.text) == 1 for value in back.values]
        weak = not found.shared and all(single)
        equal = bare and bool(found.equal) and not found.wrong and not weak and len(back.words) <= 2
        return _soon(said, view.turn) and (back.acknowledges or (equal and (
            len(said.tokens) > len(back.values) or len(given.values) > 1 or offset == 1 and len(found.equal[0].number.text) > 1)))
    if not found.equal:
        return bare and len(back.values) <= len(given.values) and _wrong_enough(given, back, found, len(view.numbers) > len(back.values))
    weak = all(value.unit is None and len(value.number.text) == 1 for value in found.equal)
    if weak and not (back.acknowledges or not own and (offset == 1 or found.shared)):
        return False
    if offset == 1 and _opens_with_value(view) and found.equal[0].unit is not None and not found.wrong:
        return True
    plainly = offset == 1 and len(own) == 1 and not found.wrong and any(
        len(value.number.text) > 1 or value.unit is not None for value in found.equal)
    return back.acknowledges or (bare and (bool(found.shared) or len(found.equal) > 1 or not own or plainly))


def _opens_with_value(view: View) -> bool:
    """'Sixty metres, flooding': the value is the whole first clause."""
    first, stop = view.clauses[0]
    number = view.numbers.get(first)
    return number is not None and stop - number.end <= 2


def _wrong_enough(given: Meaning, back: Meaning, found: Comparison, on_the_way: bool) -> bool:
    """Values that came back all changed: still a read-back where the digits or the words around them are those of the first.

    on_the_way: more values follow ('coming up ... half ... one'), so what is being done is told as it goes.
    """
    own = back.words - given.words
    if on_the_way and any(word.endswith("ing") for word in back.words):
        return False
    doing = not on_the_way and len(own) == 1 and all(word.endswith("ing") for word in own) and len(given.values) == len(back.values) == 1
    if doing and any(one.unit is not None and one.unit == other.unit and changed_digits(one, other) for one, other in found.wrong):
        return True
    swapped = any(one.number.text != other.number.text and sorted(one.number.text) == sorted(other.number.text)
                  for one, other in found.wrong)
    if any(changed_digits(one, other) for one, other in found.wrong) and (swapped or found.shared or not back.words):
        return bool(back.acknowledges or found.shared or not back.words - given.words)
    if any(abs(one.number.value) == abs(other.number.value) for one, other in found.wrong):
        return back.acknowledges or bool(found.shared)
    if not found.shared:
        return back.acknowledges and not back.words and len(given.values) == 1
    return len(back.words - given.words) <= 2


def _requests_or_confirms(said: Turn) -> bool:
    text = said.text.lower()
    return bool(_ASKS_BACK.search(text) or _REQUESTS.search(text))


def _unknown(said: Turn, turn: Turn) -> bool:
    return said.station is None or turn.station is None


def _soon(said: Turn, turn: Turn) -> bool:
    return said.end_s is None or turn.start_s is None or turn.start_s - said.end_s < _SOON_S


def _returns_words(said: View, view: View, meanings: tuple[Meaning, Meaning, Comparison]) -> bool:
    """An instruction or a state without numbers said again: most of what comes back was said, and it carries a sense."""
    given, back, found = meanings
    found = replace(found, shared=found.shared - _NO_ORDER)
    if back.asks or not found.shared or len(back.words) > 9 or found.new or found.wrong or _reports_action(said, view, found.shared):
        return False
    if not found.equal and any(token.norm in NUMERIC and token.text[:1].islower() for token in view.turn.tokens[:_head(view)]):
        return False
    share = len(found.shared) / max(1, len(back.words))
    whole = back.acknowledges and len(found.shared) >= 3 and share >= 0.8
    if (given.values and not back.values and not back.senses and not whole) or (given.asks and not _requests_or_confirms(said.turn)):
        return False
    if _unknown(said.turn, view.turn) and not (back.acknowledges and _soon(said.turn, view.turn)):
        return False
    plain = {w for w in found.shared if w in _lower_words(view)}
    sense = bool(found.sense) or bool(back.senses & given.senses)
    if sense and not back.acknowledges and not found.sense and any(said.words[first] in back.senses for first, _ in said.sentences):
        return False  # 'Open the hatch.' 'Hatch is open': done as asked
    if sense:
        return share >= 0.5 and (back.acknowledges or bool(back.senses & given.senses - _MOVES))
    quoted = bool(_QUOTES.search(view.turn.text.lower())) and any(len(word) >= 5 for word in found.shared)
    return share >= 0.6 and back.acknowledges and (len(plain) >= 2 or (quoted and bool(plain)))


def _returns_order(said: View, view: View, meanings: tuple[Meaning, Meaning, Comparison], head: int) -> bool:
    """What was said comes back word by word, or as its opposite."""
    given, back, found = meanings
    if back.asks or given.asks and not _requests_or_confirms(said.turn) or not _soon(said.turn, view.turn) or _reports_action(said, view, found.shared) \
            or view.words[0] == "mark":
        return False
    return turned(found, given, back) or not found.sense and not found.wrong and word_by_word(
        said, view, head, back.words & _lower_words(view))


def _reports_action(said: View, view: View, shared: frozenset[str]) -> bool:
    """'Send it.' 'Roger, sending now': what was asked for is under way, which is more than reading it back."""
    return any(word.endswith("ing") and word not in said.words and stem(word) in shared for word in view.words[:_head(view)])


def _lower_words(view: View) -> set[str]:
    """Stems of the words that are no names: written small, in capitals throughout, or at the head of a sentence."""
    heads = {start for start, _ in view.sentences}
    return {stem(token.norm) for i, token in enumerate(view.turn.tokens)
            if token.text[:1].islower() or token.text.strip(".,").isupper() or i in heads}


def _row(talk: Talk, pair: Pair, after: Sequence[Turn]) -> Row:
    evidence: list[Part] = [part(pair.back, "read back"), part(pair.said, "said")]
    by_line = pair.back.line_index is not None and pair.said.line_index is not None
    places = {"said_line": pair.said.line_index, "readback_line": pair.back.line_index} if by_line else {
        "said_s": pair.said.start_s, "readback_s": pair.back.start_s}
    fields = {name: Field(value, "spoken") for name, value in places.items()}
    corrector = _put_right(talk, pair, after) if pair.wrong else None
    verdict = "right" if not pair.missing else "partial"
    if pair.wrong:
        verdict = "wrong" if corrector is None else f"wrong, then corrected by {corrector.station or 'somebody'}"
    if corrector is not None:
        evidence.append(part(corrector, "correction"))
    why = (pair.wrong,) if pair.wrong else ()
    fields |= {"item": Field(pair.item, part=0), "said": Field(pair.given, part=1), "readback": Field(pair.returned, part=0),
               "match": Field(not pair.wrong, "spoken", why=why), "corrected": Field(corrector is not None, "spoken"),
               "verdict": Field(verdict, "spoken", why=why)}
    doubt = ("the speakers are not known",) if _unknown(pair.said, pair.back) else ()
    if pair.wrong and corrector is None and not ACKNOWLEDGES & {token.norm for token in pair.back.tokens[:3]}:
        doubt = (*doubt, "it may be a value of its own: nobody put it right")
    return Row("readbacks", fields, tuple(evidence), pair.back.loop, pair.back.station, pair.back.index, (), doubt)


def _put_right(talk: Talk, pair: Pair, after: Sequence[Turn]) -> Turn | None:
    """The turn, soon after, in which the one who said it puts it right, or the one who read it back does."""
    for turn in after:
        if turn.station not in (pair.said.station, pair.back.station) and None not in (turn.station, pair.said.station):
            continue
        again = any(same_value(a, b) for a in talk.numbers[turn.index] for b in talk.numbers[pair.said.index])
        corrects = bool(_PUTS_RIGHT.search(turn.text.lower()))
        if turn.station == pair.back.station and turn.station is not None:
            if again and (corrects or "sorry" in turn.text.lower()):
                return turn
        elif corrects or again:
            return turn
    return None

"""Forms in which something is said again, beside values among words. Common practice, no source.

A bare figure that comes back changed, as a question or before 'no, ...', is a read-back that went wrong; an order said again word by word is
read back, with no 'copy' before it; who tells of himself ('Birch is on four point one') reads nobody's value back.
"""
import re
from collections.abc import Sequence
from itertools import pairwise

from ..records.talk import Turn
from .meaning import ACKNOWLEDGES, SENSES, Comparison, Meaning, Value, changed_digits, same_value
from .talk import Talk
from .view import View, stem, views

_TEENS = dict(zip((13, 14, 15, 16, 17, 18, 19), (30, 40, 50, 60, 70, 80, 90), strict=True))
_NEGATES = re.compile(r"^\W*(ah,? |uh,? |oh,? )?(no|negative|correction|wrong|not)\b|\bi say again\b|\bi said\b")
_ASKS_ABOUT = frozenset("what what's where where's who who's why how when which".split())
_TELLS = frozenset("is reads has on shows at are".split())
_LITTLE = frozenset("the a an to of in on at and it is for please that your my i we".split())
_GOES_ON = frozenset("is are can could do did does how what what's and we we're will that that's i i'm i'll i've you then so but stop hold carry no now".split())
_SENSES = frozenset(stem(word) for word in SENSES) | {"go", "no", "loud", "clear"}
_SENSES_NONE = frozenset("go loud clear".split())
_SHORT, _RUN, _PAIR, _SHARE = 8, 3, 2, 0.75
_READY = re.compile(r"((okay|roger|yes|affirmative|i'm|we're|all) )*(ready|standing by|go ahead|send)( (to|for) (copy|write|it|them|that))?"
                    r"( with (it|them|that|your \w+))?( now)?")
_LONGEST, _BESIDE, _STRING, _REPORT = 14, 3, 5, 24


def only_values(view: View) -> int:
    """The end of a turn of which every sentence holds a value and little else, as recognisers cut a read-back into sentences; else 0."""
    if not view.numbers or len(view.words) > _LONGEST:
        return 0
    for start, stop in view.sentences:
        inside = [number for at, number in view.numbers.items() if start <= at < stop]
        if not inside or stop - start - sum(number.end - number.start for number in inside) > _BESIDE:
            return 0
    return len(view.words)


def only_ready(view: View) -> bool:
    """'Ready to copy.', 'go ahead with them': who is ready for what was announced reads nothing back."""
    said = " ".join(word for i, word in enumerate(view.words) if word and not any(mention.start <= i < mention.end for mention in view.names))
    return not view.numbers and _READY.fullmatch(said) is not None


def same_digits(given: Meaning, back: Meaning) -> bool:
    """All figures of what was said, one behind the other, come back in one string ('two four zero eleven one zero one six')."""
    one, other = ("".join(re.sub(r"\D", "", value.number.text) for value in meaning.values) for meaning in (given, back))
    return one == other and len(one) >= _STRING and len(given.values) > 1


def sounds_like(one: Value, other: Value) -> bool:
    """Fifteen for fifty: figures that are taken for each other in hearing."""
    a, b = (abs(value.number.value) for value in (one, other))
    return any(a - low == b - high or b - low == a - high for low, high in _TEENS.items() if min(a, b) >= low and int(min(a, b) - low) % 100 == 0)


def alike(one: Value, other: Value) -> bool:
    """Whether one may be the other misheard or misread: a digit changed, digits swapped, teens for tens, a lost sign or first figure."""
    given, back = one.number.text.lstrip("-"), other.number.text.lstrip("-")
    cut = len(given) > 1 and len(back) > 1 and given != back and (given.endswith(back) or back.endswith(given))
    return changed_digits(one, other) or sounds_like(one, other) or cut or one.number.value == -other.number.value


def bare_wrong(talk: Talk, said: Turn, view: View, meanings: tuple[Meaning, Meaning]) -> tuple[Value, Value] | None:
    """The one value said and the changed one that came back bare, right behind it, asked back or put right at once; None where it is neither."""
    given, back = meanings
    told = [value for value in back.values if not value.name]
    if len(told) != 1 or back.words - given.words or len(said.tokens) > _REPORT or view.turn.index - said.index > 2:
        return None
    if any(same_value(value.number, told[0].number) for value in given.values):
        return None
    partner = next((value for value in given.values if alike(value, told[0])), None)
    single = partner is None and bool(back.words & given.words) and len(given.values) == 1
    partner = given.values[0] if single else partner
    if partner is None:
        return None
    asks = back.asks and not given.asks and not back.words and not single
    return (partner, told[0]) if asks or _put_right_next(talk, view.turn, partner, told[0]) else None


def _put_right_next(talk: Talk, turn: Turn, given: Value, told: Value) -> bool:
    """Whether the next turn says the first value again, or begins with no and holds another than came back."""
    after = next((v for v in views(talk)[turn.index + 1:turn.index + 3] if not v.turn.commentary and not v.turn.set_aside), None)
    if after is None:
        return False
    numbers = talk.numbers[after.turn.index]
    again = any(same_value(given.number, number) for number in numbers)
    denies = bool(_NEGATES.search(after.turn.text.lower())) and any(number.value != told.number.value for number in numbers)
    return again and len(after.words) <= _SHORT + 2 * len(numbers) or denies


def leading_values(view: View) -> int:
    """Where the values end with which a turn opens, if it goes on without a point ('seventy two can you resume'); 0 where it does not."""
    index = 0
    while index < len(view.words):
        number = view.numbers.get(index)
        if number is not None:
            index = number.end
        elif view.words[index] in ACKNOWLEDGES | {"and"} or 0 < index <= _SHORT and view.words[index] not in _GOES_ON and _is_unit(view, index):
            index += 1
        else:
            break
    goes_on = view.words[index:index + 1] != () and view.words[index] in _GOES_ON
    stated = view.words[index:index + 1] in (("is",), ("are",)) and view.words[index + 1:index + 2] not in (("that",), ("it",), ("this",), ("you",))
    return index if index and view.numbers and goes_on and not stated else 0


def _is_unit(view: View, index: int) -> bool:
    return any(number.end == index for number in view.numbers.values())


def word_by_word(said: View, view: View, head: int, plain: frozenset[str]) -> bool:
    """Whether what comes back is a stretch of what was said, word by word. plain: its words that carry meaning and are no names."""
    if view.words[0].endswith("'s") and _in_name(view, 0):
        return False  # 'Red's off the bell': done, and no order said again
    back = [stem(word) for i, word in enumerate(view.words[:head]) if not _no_matter(view, i)]
    given = [stem(word) for i, word in enumerate(said.words) if not _no_matter(said, i)]
    if not back or len(back) > len(given):
        return False
    run = _longest_run(given, back)
    whole = [word for i, word in enumerate(view.words[:head]) if word not in ACKNOWLEDGES and not _in_name(view, i)]
    if _all_of_it(said, (given, back), plain - _SENSES, view.words[:head]) or _tail(said, view, head):
        return True
    if len(whole) >= _RUN and plain - {stem(word) for word in SENSES} and _longest_run(list(said.words), whole) == len(whole):
        return True
    counts = any(start < head for start in view.numbers)
    return run >= _RUN - counts and len(plain) >= 2 - counts and run >= _SHARE * len(back)


def _all_of_it(said: View, both: tuple[list[str], list[str]], plain: frozenset[str], words: Sequence[str]) -> bool:
    """Whether every word that came back was said: three and more in any order, two side by side and nothing beside them but 'copied'."""
    given, back = both
    if not set(back) <= set(given) or any(word.endswith("ing") and word not in said.words for word in words):
        return False
    return len(plain) >= _RUN or len(back) == _PAIR == len(plain) and _longest_run(given, back) == _PAIR


def _tail(said: View, view: View, head: int) -> bool:
    """Whether a short turn is the end of what was said before, word for word: 'dead slow', 'this week'."""
    whole = [word for i, word in enumerate(view.words[:head]) if word not in ACKNOWLEDGES and not _in_name(view, i)]
    before = [word for i, word in enumerate(said.words) if not _in_name(said, i)]
    return _PAIR <= len(whole) < len(before) and len(view.words) <= _SHORT and before[-len(whole):] == whole and not (
        set(whole) & _SENSES_NONE) and bool({stem(word) for word in whole} - _SENSES - _LITTLE)


def echoed_head(said: View, view: View) -> int:
    """Where the words end with which a turn, written without points, says again what was said before it goes on; 0 where it does not.

    'metal at the riser | stop stop', 'gusts of 14 | limit's 13'.
    """
    if any(token.ends_clause for token in view.turn.tokens[:-1]):
        return 0
    given = [stem(word) for i, word in enumerate(said.words) if not _no_matter(said, i)]
    best, seen = 0, []
    for i, word in enumerate(view.words):
        if _no_matter(view, i):
            continue
        if stem(word) not in given or word.endswith("ing") and word not in said.words:
            break
        seen.append(stem(word))
        best = i + 1
    enough = len(set(seen) - _SENSES) >= _PAIR and _longest_run(given, seen) == len(seen)
    return best if enough and best < len(view.words) else 0


def _in_name(view: View, index: int) -> bool:
    return any(m.start <= index < m.end for m in view.names)


def _no_matter(view: View, index: int) -> bool:
    return view.words[index] in _LITTLE | ACKNOWLEDGES or _in_name(view, index)


def _longest_run(one: list[str], other: list[str]) -> int:
    best, before = 0, [0] * (len(other) + 1)
    for word in one:
        row = [0] * (len(other) + 1)
        for j, again in enumerate(other):
            if word == again:
                row[j + 1] = before[j] + 1
                best = max(best, row[j + 1])
        before = row
    return best


def turned(found: Comparison, given: Meaning, back: Meaning) -> bool:
    """'Open valve six' for 'close valve six': the sense came back as its opposite, and the rest as it was said."""
    rest = back.words - back.senses
    return bool(found.sense) and not found.wrong and rest <= given.words and (bool(rest) or bool(found.equal)) and len(back.values) <= len(given.values)


def of_itself(view: View) -> bool:
    """'Birch is on four point one', said by Birch; 'Trimming... five five', as it is done: a report of one's own."""
    if view.words[0].endswith("ing") and view.turn.tokens[0].text.endswith("..."):
        return True
    name = next(iter(view.names), None)
    return name is not None and name.start <= 1 and name.station == view.turn.station and view.words[name.end:name.end + 1] != () and (
        view.words[name.end] in _TELLS or view.words[name.start:name.end][-1].endswith("'s"))


def asks_about(view: View) -> bool:
    """'What's the matter with nine and ten?': asks about what was said, and reads nothing back."""
    first, stop = view.sentence(0)
    return view.words[0] in _ASKS_ABOUT and not any(a == "was" and b == "that" for a, b in pairwise(view.words[first:stop]))

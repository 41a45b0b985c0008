"""What a sentence does with its value: orders it, announces it, wants it, acts at it, calls it usual, or tells that it was reached.

An order stands in the imperative, at the head of a sentence or behind 'to', 'let's', 'we'll'; the same word behind a noun or before a verb is
a noun ('torque went to four', 'the pump took it to two'). What is done at a value bounds it. Common practice, no source.
"""
from ..records.talk import Number
from ..units import read_unit
from .mood_words import (
    ACT_BEHIND,
    ACTED,
    AIMING,
    ANNOUNCED,
    ASKED,
    ASKED_TO,
    BEYOND,
    BY_PAPER,
    CARD_STEPS,
    COMES_NEXT,
    COMES_TO,
    CONTRACTED,
    DONE,
    FOR_THIS,
    FORETOLD,
    HAS_SET,
    LEADS_ORDER,
    LETTERS,
    MARK_BEHIND,
    MET,
    MOST_SAID,
    MOST_THINGS,
    MOVED,
    MOVES,
    NO_AIM,
    NO_VERB,
    NOUN_VERBS,
    OBJECTS,
    ON_THEM,
    OPENERS,
    ORDERS,
    PLANNED,
    PROOFS,
    REACHED,
    SPEAKS_NOW,
    STARTS_WITH,
    STEPS,
    USUAL,
    WANTS,
    WINDS,
)
from .readout_words import NOUNS_IN_ING
from .view import View


def _lead(view: View, low: int, stop: int) -> int:
    """Behind the words that only open a sentence: fillers, the station called, 'step two alpha'."""
    named = {i for mention in view.names for i in range(mention.start, mention.end)}
    at = low
    while at < stop:
        word = view.words[at]
        if word in STEPS and at + 1 < stop and (at + 1 in view.numbers or view.words[at + 1] in LETTERS):
            at = view.numbers[at + 1].end if at + 1 in view.numbers else at + 2
            at += at < stop and view.words[at] in LETTERS
        elif at in named and not word.endswith("'s") or word in OPENERS or not word:
            at += 1
        else:
            break
    return at


def told(view: View, start: int, end: int) -> bool:
    """Whether the words over tokens [start, end) hold a verb that tells how something is."""
    return any(word in NO_VERB or word in CONTRACTED or word.endswith("'s") and word != "let's" for word in view.words[start:end])


def ordered(view: View, number: Number, clause_start: int) -> bool:
    """An imperative that leads to the value: 'pitch to sixty', 'start them at eighteen', 'gain back to sixty'."""
    first, _ = view.sentence(number.start)
    for low in dict.fromkeys((first, clause_start)):
        lead = _lead(view, low, number.start)
        if any(_imperative(view, lead, i) and _linked(view, i, number.start) for i in range(lead, number.start) if view.words[i] in ORDERS):
            return True
    return False


def _imperative(view: View, lead: int, at: int) -> bool:
    if at == lead:
        return view.words[at:at + 2] not in (("back", "to"), ("level", "at"), ("hover", "at"))  # these tell as often as they order
    if at == lead + 1 and view.turn.tokens[lead].ends_clause and view.words[at] not in NOUN_VERBS - _CALLED:
        return True  # 'Crane, lower at half a metre a second'
    led = view.words[at - 1] in LEADS_ORDER or view.words[at - 1] == "to" and view.words[at - 2] in ASKED_TO
    return led and not told(view, lead, at - 1)


def _linked(view: View, verb: int, start: int) -> bool:
    """Whether the value hangs on the verb: behind 'to' or 'at', 'it', or right behind it, and not far away; of words that may be nouns more is asked."""
    between = view.words[verb + 1:start]
    if len(between) > 6 or any(i in view.numbers and not _names_thing(view, verb, i) for i in range(verb + 1, start)) or told(view, verb + 1, start):
        return False
    last = between[-1] if between else ""
    if _behind_comma(view, verb, start, between) or view.words[verb] == "turn" and between and set(between) <= _TURNED:
        return True
    if view.words[verb] in NOUN_VERBS:
        if not between:
            return view.words[verb] in ("set", "fly", "bring")
        return last == "to" or last in ("at", "by") and (between[0] in OBJECTS or len(between) == 1 and verb > 0 and _addressed(view, verb))
    return not between or last in ("to", "at", "for", "by", "about", "around", "up", "down", "back", "minus", "plus") or last in OBJECTS


def _addressed(view: View, verb: int) -> bool:
    """'Crane, lower at ...': behind a station's name, or the one word before a comma that opens a sentence."""
    return any(m.end == verb for m in view.names) or verb - 1 == view.sentence(verb)[0] and view.turn.tokens[verb - 1].ends_clause


COURSES = frozenset("track heading steer course".split())
_CALLED = frozenset("lower open close bring start stop warm slack turn".split())
_TURNED = frozenset("left right hard heading onto to further".split())
_AT_WORK = frozenset("start bring take put move fly hold keep go come descend walk".split())


def _behind_comma(view: View, verb: int, start: int, between: tuple[str, ...]) -> bool:
    """'Start oxygen, 4 litres', 'take her out to the buoy, twelve knots': with what the order is carried out."""
    number = view.numbers.get(start)
    unit = read_unit(view.words, number.end) if number is not None else None
    return bool(between) and unit is not None and view.words[verb] in _AT_WORK and between[0] not in CARD_STEPS and view.turn.tokens[start - 1].ends_clause


def _names_thing(view: View, verb: int, at: int) -> bool:
    """'Bring number two down to twenty', 'gate two to ten percent': the number of a thing."""
    number = view.numbers[at]
    lead = view.words[at - 1]
    return at > verb + 1 and number.end == at + 1 and 0 < number.value <= MOST_THINGS and lead.isalpha() and lead not in ("to", "at", "by")


def _read_from_card(view: View, first: int, start: int) -> bool:
    """'Step two, four g, onset point one a second': behind the number of a step nothing is told, so it is what the step asks for."""
    lead = _lead(view, first, start)
    step = next((i for i in range(first, lead) if view.words[i] in CARD_STEPS and (i + 1 in view.numbers or view.words[i + 1] in LETTERS)), None)
    return step is not None and not told(view, step, start) and not DONE & set(view.words[step:start])


def _set_to(view: View, first: int, clause_start: int, start: int) -> bool:
    """'Alpha to four degrees', 'up to one hundred kilowatts', 'climbing to fifty', 'braking test from forty': no verb tells of it, so it is asked for."""
    low = max(first, clause_start)
    lead = _lead(view, low, start)
    said = view.words[lead:start]
    if not said or told(view, lead, start) or not 0 < len(said) <= MOST_SAID:
        return False
    if said[-1] == "to":
        again = "again" in view.words[start:start + 3]
        return said == ("up", "to") and not again or len(said) > 1 and (said[-2] in AIMING or said[-2] not in NO_AIM and _noun(said[-2]))
    tail = " ".join(view.words[start:start + 6])
    alone = not any(first <= at < start for at in view.numbers) and len(said) < 4 and not WINDS & set(view.words)
    return said[-1] == "from" and alone and " to " not in f" {tail} " and not any(word.endswith("ed") for word in said)


def _noun(word: str) -> bool:
    done = word.endswith("ed") and not word.endswith("eed")  # 'dropped to', but 'speed to'
    return (word.isalpha() and not done and not word.endswith(("ing", "ly", "s"))) or word in NOUNS_IN_ING


def mood(view: View, number: Number, clause_start: int, before: str, after: str) -> str | None:
    """The class that the sentence gives its value; 'measured' where it tells that it was reached; None where it says nothing of the kind.

    before: the words since the last value of the clause; after: those right behind the value.
    """
    first, _ = view.sentence(number.start)
    unit = read_unit(view.words, number.end) if after else None
    if unit is not None:
        after = " ".join(view.words[unit.end:unit.end + 6])
    if view.words[(unit.end if unit else number.end) - 1].endswith("'s"):
        after = f"'s {after}"
    if MARK_BEHIND.match(after) or before in ("at", "past", "") and ACT_BEHIND.match(after):
        return "limit"
    if before and (sort := _by_words_before(view, number, before)) is not None:
        return sort
    said = " ".join(view.words[first:number.start])
    if USUAL.search(said) or BY_PAPER.match(after):
        return "plan"
    if before and FORETOLD.search(before) or MET.search(said):
        return "forecast"
    if FOR_THIS.search(said) or PROOFS.match(said) and not told(view, first, number.start):
        return "target"
    if ANNOUNCED.search(said) and not told(view, first, number.start):
        return "plan"
    words = set(view.words[first:number.start])
    if words & ORDERS and ordered(view, number, clause_start) or words & CARD_STEPS and _read_from_card(view, first, number.start) \
            or view.words[max(first, number.start - 1)] in ("to", "from") and _set_to(view, first, clause_start, number.start):
        return "target"
    return _by_sentence_before(view, first, number.start)


def _by_words_before(view: View, number: Number, before: str) -> str | None:
    if before in COURSES and {"you", "your", "you're"} & set(view.words[:number.start]):
        return "target"  # 'The gate's north of you. Track three four zero'
    if ACTED.search(before) or BEYOND.search(before) and not SPEAKS_NOW.search(before) or ON_THEM.search(before):
        return "limit"
    if REACHED.search(before) or HAS_SET.search(before):
        return "measured"
    sorts = (("target", WANTS), ("target", ASKED), ("forecast", COMES_TO), ("plan", PLANNED))
    return next((sort for sort, known in sorts if known.search(before)), None)


def _by_sentence_before(view: View, first: int, start: int) -> str | None:
    """'We'll start with a straight run. Thirty knots, then forty five.', 'Foam next. Three percent.', 'Bring it up. Two fifty first.'"""
    if not first or told(view, first, start) or len(view.words[first:start]) > MOST_SAID:
        return None
    low, high = view.sentence(first - 1)
    if any(low <= at < high for at in view.numbers) or view.asks(low, high):
        return None
    said = " ".join(view.words[low:high])
    if STARTS_WITH.search(said):
        return "plan"
    lead = _lead(view, low, high)
    moved = lead < high - 1 and view.words[lead] in MOVES and not told(view, lead, high) and view.words[high - 1] in MOVED
    return "target" if moved or COMES_NEXT.search(said) and not told(view, low, high) else None


def perhaps_ordered(view: View, start: int) -> bool:
    """'Belt down to two', 'level at one hundred', 'the tank goes to six hundred': told by one who reads it, asked for by one who leads."""
    first, _ = view.sentence(start)
    low = max(first, view.clause(start)[0])
    lead = _lead(view, low, start)
    said = view.words[lead:start]
    if said[-2:] == ("goes", "to") or said[-3:-1] in (("goes", "up"), ("goes", "down"), ("goes", "back")):
        return True
    if not said or told(view, lead, start) or len(said) > MOST_SAID:
        return False
    if said[-1] == "to":
        return len(said) > 2 and said[-2] in ("up", "down", "back") and _noun(said[-3])
    return said[-1] == "at" and said[0] in ORDERS and (len(said) == 2 or len(said) == 3 and said[1] in MOVED)

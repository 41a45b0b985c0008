"""Open items: requests, promises and questions that outlive their turn; who owns them, and where they were closed."""
import re
from collections.abc import Sequence

from ..records.rows import Field, Row
from ..records.talk import Turn
from .poll_rounds import rounds
from .talk import Talk, part
from .view import View, stem, views

_LATER = re.compile(r"\b(tonight|tomorrow|afterwards?|after the (run|test|dive|flight|session|drop)|before (we|the|mon|tues|wednes|"
                    r"thurs|fri|satur|sun)\w*|"
                    r"later|next (time|run|week|flight)|"
                    r"this (week|evening|afternoon|weekend)|when (we|you)( (get|are|have)|'re) |at the debrief|for the (report|log|next)|remind me|"
                    r"write (that|it|this) down|"
                    r"write up|written up|somebody|someone (should|has to|needs|write|look|check)|make a note|note (that|to)|needs? (a|"
                    r"to be|an) \w+|"
                    r"by (tonight|tomorrow|noon|lunch|monday|friday|\w+ o'clock|(half |quarter )?\w+ (past|to) \w+|\d+)|"
                    r"before (it|they|lunch|noon|the half|\w+ o'clock|ten|\d+)|at (lunch|the break)|"
                    r"in (a|an|\w+) (hour|minutes|hours|days?)|on (mon|tues|wednes|thurs|fri|satur|sun)day|"
                    r"has to be|has to (fetch|find|get|mend|fix|write|ask|call)|"
                    r"to be (done|fixed|replaced|checked|looked)|follow up|i owe you|we owe|mark up|keep an eye on|look (at|"
                    r"into)|swap that|log the|log it)\b")
_PROMISE = re.compile(r"\b(i'll|i will|we'll|we will|i'm going to|let me|i owe)\b")
_ASK_LATER = re.compile(r"\b(remind|write|(?<!the )log|book|bring (me|us|it|that|them)|tell the|have (the|that|those|these|it|them) (\w+ ){0,3}\w+ed|"
                        r"order|replace|swap|look at|look into|check on|keep an eye|find out|tell me (when|if|"
                        r"where)|let me know|"
                        r"report|give \w+ a|send|get (me|us|him|her)|call (me|us) (back|when|again))\b")
_DID_ANYBODY = re.compile(r"\b(did (anybody|anyone|somebody|you ever|we ever)|has anybody|does it|is there any|are there any|"
                          r"what about the)\b.*\?")
_REQUESTS = re.compile(
    r"\b(we'd like|we would like|i'd like|(could|can|will|would) (we|you) (have|give|read) |how about (giv|read)ing|"
    r"standing by for (your|a|the)|"
    r"stand ?by for|give (us|me) (a|the) (hack|mark|call)|i want you to|we want (the|a|your)|just have (our|the|your)|report your|"
    r"proceed with|"
    r"call again|will give \w+ status|what('s| is) (your|my|the) \w+ (status|report))\b")
_HOLDS = re.compile(r"\b(stand ?by for \d+ seconds|would like you to know)\b")
_CLOSES = re.compile(r"\b(done|yes|it's|is now|logged|written|noted|got it|sent|swapped|checked|booked|that's|did|have (it|them)|"
                     r"numbers?|moved?|on now)\b")
_OF_ALL = re.compile(r"\b(want|like|need) (a |an |to hear )?(everyone to|everybody to|yes|condition|status|readiness|you all|each of you|everybody)\b|"
                     r"\b(like|want) (him|her|them|it) \w+,? please|^i('d| would) like to (?!see|have|know).* first$")
"""What calls a poll, or is done at once."""
_SOMEBODY = re.compile(r"\b((can|could|will|would) (somebody|someone|anybody|you)|who('ll| will)) ")
CLOSES_WITHIN = 90
_PROMISED = re.compile(r"^(\w+,? )?(i'll|we'll|i will|we will) (get (you|him|her|them|it|that) |find (it |that )?out|see about|look into|chase|"
                       r"dig (it|that|one) (out|up)|"
                       r"let you know|have (the|a|my|our|someone|somebody) (\w+ ){1,3}(look|put|fit|change|check|mend|write|bring|"
                       r"send|find|see|take|do)\b)")
"""A promise that is kept later, though nobody says when: 'I'll get you that', 'I'll have the fitter look at it'."""
_ROUND_OF_ALL = re.compile(r"\b(a word (from|with|on)|go round (again|the)|(somebody|someone) (said|says|told|is|was|has|had|just))\b")
_ANSWERS = 2
_IT = re.compile(r"\b(it|that|them|him|her|one)\b")
_SKIP = frozenset(("the a an of at to in on for and is it we our my your "
                   "i you with that this there somebody please will have has be are was me do if").split())


def open_items(talk: Talk) -> list[Row]:
    """Rows of the table open_items."""
    rows: list[Row] = []
    told: list[frozenset[str]] = []
    turns = list(talk.operational())
    seen = views(talk)
    for position, turn in enumerate(turns):
        for start, end in seen[turn.index].sentences:
            text = " ".join(token.text for token in turn.tokens[start:end]).lower().replace("’", "'")
            if not _outlives(text) or _settled_here(talk, seen[turn.index], text, end) or rows and _takes_on(rows[-1], turn, text):
                continue
            stems = _stems(turn, start, end)
            if len(stems) >= 2 and not any(len(stems & other) >= 0.6 * len(stems) for other in told[-6:]):
                told.append(stems)
                rows.append(_row(turns, position, (start, end), stems, _owner(talk, turn, seen[turn.index].names)))
                break
    return rows


def _outlives(text: str) -> bool:
    """A promise or request for later, or a question whether something was ever done."""
    if _OF_ALL.search(text) or _ROUND_OF_ALL.search(text):
        return False
    if _PROMISED.search(text) and "?" not in text:
        return True
    if _REQUESTS.search(text) and not _HOLDS.search(text) and len(text.split()) >= 4:
        return True
    if _SOMEBODY.search(text) and _LATER.search(text):
        return True
    if "?" in text:
        return bool(_DID_ANYBODY.search(text))
    if re.search(r"\b(stand ?by|wait one|in a minute|let me (see|find|put))\b", text):
        return False
    asked, later, promised = _ASK_LATER.search(text), _LATER.search(text), _PROMISE.search(text)
    if later and re.search(r"^(somebody|someone) \w+|\bmake a note\b", text):
        return True
    return bool(later and (asked or promised or re.search(r"\b(we (swap|look|talk|fix|change)|needs?|should|want|owe|keep)\b", text)))


def _settled_here(talk: Talk, view: View, text: str, end: int) -> bool:
    """The call of a poll, and what is owed and given in the same breath ('and I owe you the harness: make it a four')."""
    asked = rounds(talk).get(view.turn.index)
    calls = asked is not None and view.turn.index in asked.asking
    return calls or "owe" in text.split() and any(at >= end for at in view.numbers)


def _takes_on(last: Row, turn: Turn, text: str) -> bool:
    """'I'll strip it tonight': who was just asked takes it on, and leaves nothing else open."""
    near = last.turn is not None and 0 < turn.index - last.turn <= _ANSWERS and last.station != turn.station
    return near and bool(_PROMISE.search(text)) and bool(_IT.search(text))


def _stems(turn: Turn, start: int, end: int) -> frozenset[str]:
    return frozenset(stem(token.norm) for token in turn.tokens[start:end] if token.norm not in _SKIP and token.norm)


def _owner(talk: Talk, turn: Turn, names: Sequence[object]) -> str | None:
    """Who has it: the speaker who promises, the one who is asked by name, else nobody yet."""
    text = turn.text.lower()
    if re.search(r"\b(somebody|someone|anybody)\b", text) and not turn.addressee:
        return None
    if _PROMISE.search(text) or re.search(r"\bwe\b", text):
        return turn.station
    return turn.addressee or turn.station


def _row(turns: Sequence[Turn], position: int, sentence: tuple[int, int], stems: frozenset[str], owner: str | None) -> Row:
    turn = turns[position]
    start, end = sentence
    evidence = [part(turn, "text", start, end)]
    fields = {"what": Field(" ".join(token.text for token in turn.tokens[start:end]).rstrip(".?!"), part=0)}
    if owner:
        fields["owner"] = Field(owner, "spoken" if owner == turn.addressee else "carried")
    closing = _closing(turns, position, stems, "?" in turn.tokens[end - 1].text)
    if closing is not None:
        evidence.append(part(closing, "closing"))
        name, value = ("closed_line", closing.line_index) if turn.line_index is not None else ("closed_s", closing.start_s)
        fields[name] = Field(value, "spoken", part=1)
    return Row("open_items", fields, tuple(evidence), turn.loop, turn.station, turn.index)


def _closing(turns: Sequence[Turn], position: int, stems: frozenset[str], asked: bool) -> Turn | None:
    """The turn that answers or reports it done: the next one for a question answered at once, else a later one on the same thing."""
    for offset, later in enumerate(turns[position + 1:position + 1 + CLOSES_WITHIN]):
        if later.station == turns[position].station and later.station is not None and not _CLOSES.search(later.text.lower()):
            continue
        words = {stem(token.norm) for token in later.tokens}
        shared = len(words & stems)
        if asked and offset == 0 and later.station != turns[position].station and "?" not in later.text and len(later.tokens) > 3:
            return later if not re.search(r"\b(don't know|find out|later|check)\b", later.text.lower()) else None
        if shared >= 2 and _CLOSES.search(later.text.lower()) and "?" not in later.text:
            return later
    return None

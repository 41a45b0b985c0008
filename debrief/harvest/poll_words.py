"""The words of a poll: its question, the answers and the decision. Common practice on test and launch loops, no source.

The session's own poll words come first; 'ready', 'affirm' or 'green' count as answers only where a poll is open.
"""
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from ..session import Session
from ..wording.english import is_function_word
from .callsigns import LIKE_GO
from .meaning import OPPOSITES
from .poll_asks import LIGHT, PARTICLES
from .poll_openings import ALL
from .poll_phrases import (
    A_MOMENT,
    CONDITIONS,
    DECIDES,
    GO_NO_GO,
    HELD_OFF,
    HOLDS_BACK,
    IN_POLL,
    NO_GO,
    PROXY,
    STAND_BY,
    WHOLE,
)
from .poll_rounds import STANCES
from .view import Phrases, View, phrases

Reply = Literal["GO", "NO-GO", "STAND BY"]

_OF_A_CLOCK = (("minus",), ("plus",), ("at",), ("in",))
"""Before a time that a clock tells: 'T minus two minutes' wants no time, as 'two minutes' does."""
_A_WHILE = frozenset("minute minutes second seconds moment".split())
_LIKE_GO_ALONE = frozenset("ago though gone going dough goes".split())
"""More of what is written for 'go', believed where it is all that a station says which was just called."""
_TRAILING = frozenset("yes yep aye affirm affirmative agreed".split())
"""What also answers as the last word of a turn: 'hoses are run out, yes'."""
YES_NO = frozenset("yes yep yup affirm affirmative no negative agreed concur aye".split())
"""Words that answer what was asked last: a poll only where its call is what was asked last."""
_GO_BEFORE = frozenset("is am i'm we're you're are still a status and an be he's she's it's that's they're our full final definite".split())
_NOT_BEHIND = frozenset("ahead back with right left up down mode by out in over without around through no around again near next "
                        "first get home see between off there".split())
_GOES_ELSEWHERE = _NOT_BEHIND | {"on", "to", "into"}
_DENIED = frozenset("not no negative can't cannot won't isn't aren't unable haven't hasn't don't never nope nay scrub abort scratch".split())
_HINDERS = frozenset("constraint constraints violation violated fouled".split())
"""What a station has that was asked for its stand and gives none: 'Range has a constraint, fouled boat in box two'."""
_BETWEEN = LIGHT | frozenset("yet quite fully really".split())
NO_OBJECTION = frozenset("none nothing nobody objection objections nope".split())
"""What answers 'any objections?' besides 'no'."""
_ALL_OF_IT = (("i", "am"), ("we", "are"), ("i", "do"), ("we", "do"))
MILD = frozenset("clear good all foul".split())
"""Words that answer a poll only where its question used them: 'are we all clear to lift?' 'Crest is clear'."""
_OBJECTS = frozenset("up the your my that it him her them".split())
_SHORT_CLAUSE, _OPENING = 4, 10
_AGAINST = frozenset("not no never isn't aren't nothing hardly nearly almost if when until to be get getting make keep stay".split())
@dataclass(frozen=True, slots=True)
class Said:
    """An answer over tokens [start, end). open_only: a word that is an answer only in a poll; sure: no likeness stood in for it."""

    start: int
    end: int
    reply: Reply
    open_only: bool = False
    sure: bool = True


@dataclass(frozen=True, slots=True)
class PollWordBook:
    """The session's poll words as phrases, by reply. standby: the station of that name, if one goes by it."""

    own: tuple[tuple[Reply, Phrases], ...]
    standby: str | None = None

    @classmethod
    def of(cls, session: Session) -> "PollWordBook":
        words = session.poll_words
        pairs: tuple[tuple[Reply, tuple[str, ...]], ...] = (
            ("NO-GO", words.no_go), ("GO", words.go), ("STAND BY", words.stand_by))
        own = tuple((reply, phrases(" | ".join(w.lower() for w in given if w.lower() != "go"))) for reply, given in pairs)
        standby = next((s.name for s in session.stations for name in (s.name, *s.aliases)
                        if name.lower().replace(" ", "").replace("-", "").startswith("standby")), None)
        return cls(own, standby)

    def answers(self, view: View, learnt: frozenset[str] = frozenset(), asked: frozenset[str] = frozenset()) -> list[Said]:
        """All answers in a turn, in order, never overlapping; names of stations are passed over.

        learnt: further words that answer this poll; asked: words of its questions, which may stand beside those.
        """
        found: list[Said] = []
        taken = {i for mention in view.names for i in range(mention.start, mention.end)}
        index = 0
        while index < len(view.words):
            said = None if index in taken else self._at(view, index) or _learnt(view, index, learnt, asked)
            if said:
                found.append(said)
            index = said.end if said else index + 1
        return found

    def _at(self, view: View, index: int) -> Said | None:
        if asks_go_no_go(view, index):
            return None
        for reply, group in self.own:
            place = _here(view, group, index)
            if place and not (reply == "STAND BY" and (self._is_name(view, place) or view.words[place[1]:place[1] + 1] == ("mark",))):
                return Said(*place, reply)
        place = _here(view, NO_GO, index)
        if place and not (view.has(("not", "go"), index) and view.words[place[1]:place[1] + 1] and view.words[place[1]] in _GOES_ELSEWHERE):
            return Said(*place, "NO-GO", sure=view.words[place[1] - 1] != "goal")
        place = _here(view, STAND_BY, index)
        if place:
            return self._waits(view, place)
        if (view.words[index] == "go" or view.words[index] in LIKE_GO) and _is_go(view, index):
            return Said(index, index + 1, "GO", open_only=view.words[index] in LIKE_GO, sure=view.words[index] == "go")
        wait = _awhile(view, index)
        if wait:
            return Said(index, wait, "STAND BY", open_only=True)
        if view.has(("give", "me"), index) and set(view.words[index + 2:index + 5]) & _A_WHILE:
            return Said(index, min(index + 4, len(view.words)), "STAND BY", open_only=True)
        if view.words[index] in _LIKE_GO_ALONE and index + 1 == len(view.words) and _opens_answer(view, index):
            return Said(index, index + 1, "GO", open_only=True, sure=False)
        return _in_poll(view, index)

    def _is_name(self, view: View, place: tuple[int, int]) -> bool:
        return self.standby is not None and "".join(view.words[slice(*place)]) == "standby"

    def _waits(self, view: View, place: tuple[int, int]) -> Said | None:
        behind = view.words[place[1]:place[1] + 1]
        ordered = any(m.start == place[1] for m in view.names) and not view.turn.tokens[place[1] - 1].ends_clause
        held = behind == ("the",) and view.words[place[1] - 1] == "on"  # 'hold on the clock' orders
        marks = view.words[place[1]:place[1] + 1] == ("mark",)  # 'stand by, mark'
        if marks or self._is_name(view, place) or ordered or held or behind in (("for",), ("to",), ("on",), ("until",), ("till",)):
            return None
        return Said(*place, "STAND BY", open_only=True) if _opens_clause(view, place[0]) else None


def _awhile(view: View, index: int) -> int:
    """'One minute, master', 'half a minute', '30 seconds' at the head of a clause and no more in it: where it ends, 0 for none."""
    first, stop = view.clause(index)
    last = next((i for i in range(index, min(stop, index + 4)) if view.words[i] in _A_WHILE), None)
    counted = last is not None and last > index and all(i in view.numbers or view.words[i] in ("a", "half", "one", "few", "another", "or", "just") or any(
        at <= i < number.end for at, number in view.numbers.items()) for i in range(index, last))
    opens = index == 0 or any(m.end == index and m.start <= 1 for m in view.names)
    return last + 1 if counted and last is not None and opens and index == first and last + 1 == stop else 0


def _here(view: View, group: Phrases, index: int) -> tuple[int, int] | None:
    return next(((index, index + len(phrase)) for phrase in group.get(view.words[index], ()) if view.has(phrase, index)), None)


def _opens_clause(view: View, index: int) -> bool:
    """At the start of its clause, or right behind a station's name there."""
    start = view.clause(index)[0]
    return index == start or any(m.start >= start and m.end == index for m in view.names) or view.words[start:index] in (
        ("and",), ("okay",), ("ok",), ("yes",), ("still",))


def _in_poll(view: View, index: int) -> Said | None:
    whole = _here(view, WHOLE, index)
    if whole and whole == view.clause(index) and not view.asks(*view.sentence(index)):
        return Said(*whole, "GO", True)
    for reply, group in IN_POLL.items():
        place = _here(view, group, index)
        if place and _orders(view, index):
            continue
        if place:
            fits = _opens_answer(view, index) or view.words[index] in STANCES and _closes_clause(view, *place)
            fits = fits or view.words[index] in _TRAILING and place[1] == len(view.words)
            fits = fits or view.before(index) in (("was",), ("were",)) and speaks_for(view)
            heard = view.turn.tokens[index].span is not None
            misheard = heard and view.words[index] == "no" and not view.words[place[1]:]
            return Said(*place, reply, True, not misheard) if fits and not view.asks(*view.sentence(index)) else None  # type: ignore[arg-type]
    return None


def _orders(view: View, index: int) -> bool:
    """'Set up the left one': no answer."""
    behind = view.words[index + 1:index + 2]
    return view.words[index] == "set" and behind != () and behind[0] in _OBJECTS and not view.turn.tokens[index].ends_clause


def _opens_answer(view: View, index: int) -> bool:
    behind = view.words[index - 1:index]
    return _opens_clause(view, index) or bool(behind) and (behind[0] in _GO_BEFORE or behind[0].endswith("'s"))


def _closes_clause(view: View, start: int, end: int) -> bool:
    """'Chains are shackled and clear', 'Propulsion condition green': the last words of a short clause that says nothing against them."""
    first, stop = view.clause(start)
    return end == stop and start - first <= _SHORT_CLAUSE and not set(view.words[first:start]) & _AGAINST


def _learnt(view: View, index: int, words: frozenset[str], beside: frozenset[str]) -> Said | None:
    """A word that the stations of this round answer with, and its denial."""
    if words and view.words[index] in _DENIED:
        stop = min(view.clause(index)[1], index + _SHORT_CLAUSE)
        end = next((i for i in range(index + 1, stop) if view.words[i] not in _BETWEEN and not is_function_word(view.words[i])), stop)
        denied = end < stop and view.words[end] in (words | STANCES) - {"go"}
        return Said(index, end + 1, "NO-GO", open_only=True) if denied else None
    goes = view.words[index:index + 2] != ("go", "on")  # 'we're go on that alarm'
    if view.words[index] in words and goes and _stands(view, index, words, beside) and not view.asks(*view.sentence(index)):
        return Said(index, index + 1, "GO", open_only=True)
    return None


def _stands(view: View, index: int, words: frozenset[str], asked: frozenset[str]) -> bool:
    """Whether a learnt word is the stand of its clause: first or last of it, or with nothing beside it but such words, names and what was asked."""
    first, stop = view.clause(index)
    named = {i for mention in view.names for i in range(mention.start, mention.end)}
    beside = {view.words[i] for i in range(first, stop) if i not in named and not is_function_word(view.words[i])} - LIGHT - words - asked - STANCES
    if set(view.words[first:index]) & _AGAINST or _orders(view, index):
        return False
    if view.words[index] in PARTICLES:
        return not beside and all(i in named or view.words[i] in LIGHT | _GO_BEFORE for i in range(index + 1, stop))
    lettered = index - first == 1 and len(view.words[first]) == 1  # 'b locked sorry about that', of Camera B
    return not beside or lettered or _opens_answer(view, index) or _closes_clause(view, index, index + 1)


def turned_round(view: View, said: Said, learnt: frozenset[str]) -> Said:
    """An answer to 'any objections?': 'none' and 'no concerns' let the poll go on, 'yes' and 'I've a concern' do not."""
    word = view.words[said.start]
    if said.reply == "NO-GO" and word in _DENIED and not set(view.words[said.start:said.end]) & STANCES:
        return replace(said, reply="GO")
    objects = learnt - STANCES - NO_OBJECTION | {"yes", "objection", "objections", "concern", "concerns"}
    against = word in objects or view.words[said.start:said.end] in _ALL_OF_IT
    return replace(said, reply="NO-GO") if said.reply == "GO" and against else said


def holds_off(view: View, learnt: frozenset[str], objections: bool) -> Said | None:
    """What a station says that was just called and takes no stand: it denies, says the opposite, or wants time ('two minutes', 'not clean')."""
    stop = min(len(view.words), _OPENING)
    first = next((end for start, end in view.clauses if any(m.start == start and m.end == end for m in view.names)), 0)
    place = view.find(HELD_OFF, first, stop) or (view.find(A_MOMENT, max(first, view.sentences[-1][0])) if view.words else None)
    counts = place is not None and (view.before(place[0], 1) in _OF_A_CLOCK or view.words[place[1]:place[1] + 1] == ("the",))
    if place and not counts and not view.asks(*view.sentence(place[0])):
        return Said(*place, "STAND BY", open_only=True, sure=False)
    named = next((i for i in range(first, len(view.words)) if view.words[i] in learnt), None) if objections else None
    if named is not None:
        return Said(named, named + 1, "NO-GO", open_only=True, sure=False)  # 'any leaks?' 'a small one, a leak at the gland'
    hindered = next((i for i in range(first, stop) if view.words[i] in _HINDERS and "no" not in view.words[max(first, i - 2):i]), None)
    if hindered is not None and not view.asks(*view.sentence(hindered)):
        return Said(hindered, hindered + 1, "NO-GO", open_only=True, sure=False)
    turned = {b for one, other in OPPOSITES for a, b in ((one, other), (other, one)) if a in learnt} - learnt
    denied = next((i for i in range(first, stop) if view.words[i] in _DENIED or view.words[i] in turned and i < first + 2), None)
    return Said(denied, denied + 1, "NO-GO", open_only=True, sure=False) if denied is not None and not view.asks(*view.sentence(denied)) else None


def _names_another(view: View, start: int, end: int) -> bool:
    """A name between two answers that may give the second one; 'happy with Alder' names nobody who answers."""
    return any(start <= m.start < end and view.before(m.start, 1)[0:1] not in (("with",), ("for",), ("on",), ("to",), ("of",)) for m in view.names)


def settled(view: View, answers: Sequence[Said]) -> list[Said]:
    """What stands of several answers that one station gives in one breath.

    'Green on cloud, red on wind' is NO-GO; 'no go, stand by' is NO-GO and no second answer; 'ready, once I have it back, stand by' waits.
    'Stand by ... okay, go' are two answers.
    """
    kept: list[Said] = []
    for said in answers:
        last = kept[-1] if kept else None
        together = last is not None and not _names_another(view, last.end, said.start)
        if last is not None and together and last.reply == "NO-GO" and said.reply == "STAND BY":
            continue
        turned = together and said.reply != "GO" and not (said.reply == "STAND BY" and last is not None and not last.open_only)
        while turned and kept and kept[-1].reply == "GO" and not _names_another(view, kept[-1].end, said.start):
            kept.pop()
        kept.append(said)
    return kept


def asks_go_no_go(view: View, index: int) -> bool:
    """'Go no go' as the name of the poll begins at this token, or one token before."""
    return any(at >= 0 and _here(view, GO_NO_GO, at) for at in (index, index - 1, index - 2) if at >= 0 and view.words[at][:2] == "go"
               and (place := _here(view, GO_NO_GO, at)) and place[1] > index)


def _is_go(view: View, index: int) -> bool:
    """'Go' as an answer: alone, behind a name, 'is', 'I'm', 'a', and not 'go ahead', 'thirty seconds to go'."""
    behind = view.words[index + 1:index + 2]
    ends = view.turn.tokens[index].ends_clause
    if not ends and behind and behind[0] in _NOT_BEHIND:
        return False
    if not ends and behind == ("to",):
        return view.before(index, 1) == ("a",)
    if not ends and behind == ("on",):
        return view.words[index + 2:index + 3] == ("the",) and _opens_clause(view, index)
    before = view.before(index, 1)
    first = view.clause(index)[0]
    itself = index == first + 1 and view.turn.station is not None and view.words[first] == view.turn.station.lower()
    if _opens_clause(view, index) or itself:
        return True
    return before[0] in _GO_BEFORE or before[0].endswith("'s") or view.before(index, 2) in (("systems", "are"), ("i", "am"))


def decision(view: View) -> tuple[int, int] | None:
    """'We are GO for pressurisation', 'that's a GO', 'cleared for card thirteen'; never a question."""
    place = replace(view, words=tuple("go" if word in LIKE_GO else word for word in view.words)).find(DECIDES)
    if place is None or view.asks(*view.sentence(place[0])):
        return None
    return place


def decides_for_all(view: View, place: tuple[int, int]) -> bool:
    """'That's everyone, we are GO for the drop': behind a word for all, or told what for; one station answers 'we are GO' alone."""
    first, _ = view.sentence(place[0])
    return view.words[place[1]:place[1] + 1] in (("for",), ("to",)) or bool(
        {"everyone", "everybody", "all"} & set(view.words[max(0, first - 4):place[1]]))


def told_back(view: View, start: int) -> bool:
    """'Understood, NO GO from Anvil', 'Copy, Clover is GO': an answer that is only repeated. 'Yes from Anvil' said by Anvil is none."""
    first, _ = view.sentence(start)
    named = next((mention.station for at in range(start, start + 3) if view.words[at:at + 1] == ("from",)
                  for mention in view.names if mention.start == at + 1), None)
    if named is not None:
        return view.turn.station not in (named, None)
    if view.words[first:first + 1] == ("that's",) and set(view.words[first:start]) & ALL:
        return True  # 'That's all of you clear'
    place = view.find(HOLDS_BACK, first, start)
    return place is not None and place[0] <= first + 1


def condition(view: View, end: int) -> tuple[int, int] | None:
    """'as long as the wind stays under twelve': the clause of condition that follows an answer."""
    _, stop = view.sentence(end - 1)
    place = view.find(CONDITIONS, end, min(stop, end + 3))
    return (place[0], stop) if place else None


def speaks_for(view: View) -> bool:
    """'She says GO, I'm answering for her'."""
    return view.find(PROXY) is not None

"""What a turn asks of stations, as a round of answers may follow it: by bare names, by a question to a name, of all. Common practice, no source.

Only the form counts: 'Fore end.', 'Driver, all right forward?', 'Everybody, tell me when you're shackled.' A question for a value or a place
(what, how much, where) asks for no stand, and neither does a comm check.
"""
from dataclasses import dataclass

from ..wording.english import is_function_word
from .callsigns import Mention, plain_word
from .talk import Talk
from .view import View, call_book, phrases

STANCES = frozenset("ready set clear good happy stable green go fine satisfied secure secured manned content comfortable".split())
"""Words by which people in many trades say that they may be counted on; others are learnt where a whole round uses them."""
CALL_WORDS = frozenset("and okay ok then so now roger copy copied thanks thank you finally last first how about over to from go no or all right "
                       "right next please your yours status condition good alright lovely fine".split())
PARTICLES = frozenset("in on up down out off".split())
"""What may be a whole stand where a clause says nothing else: 'North's in.', 'All up.'"""
LIGHT = frozenset("now here all again please sir control yes yeah still too also both everything everyone everybody each okay ok and we're we've "
                  "i've i'm that's well right-o oh er um just then from side end once more back thanks thank copy roger over we'll all's "
                  "for at by into onto with before after until under over us "
                  "say tell hear know let want like need answer report confirm call sound calling reporting".split())
_WH = frozenset("what what's how where where's when which who who's why whose".split())
_COMM = phrases("""radio check | comm check | comms check | voice check | signal check | sound check | mic check | hear me | read me | receiving |
    receive me | how do you | names please | names and | your names | who is on | who's on""")
_TO_ALL = phrases("""all stations | all positions | everybody | everyone | all hands | all call signs | all callsigns | all teams | each station | each of you |
    all of you | all posts | all units | all parties | one by one | in turn | round the | around the | each team | every station | every post | all round""")
_ORDERS = phrases("""report | sound off | call in | call out | tell me | say if | say when | let me hear | let me know | i want to hear | confirm |
    i'd like to hear | call your | give me your | answer up | answer in turn | shout when | sing out | speak up | check off | i want a | i want you | i need a |
    from each | from all of | from everyone | from everybody""")
_ROUND = phrases("""go round | go around | down the line | along the line | down the list | round the room | in turn | one by one | round the posts |
    round the houses | round everybody | round everyone | last time round | once round | one at a time""")
_AGAINST = frozenset("not against object objects unhappy stop hold wait abort".split())
ANY_GOOD = frozenset("good luck joy sign more better answer of".split())
"""What 'any ...?' asks for that is welcome."""
_ASKS_FIRST = frozenset("all is are you your any still got have has can".split())
_LISTED, _NAME, _SHORT, _POINTED = 2, 3, 9, 12


@dataclass(frozen=True, slots=True)
class Ask:
    """calls: token and station of each name called; about: words of what is asked, none for a bare name; to_all: asked of everybody;

    comm: a comm check; against: asks whether anything speaks against it ('any concerns?').
    """

    calls: tuple[tuple[int, str], ...]
    about: frozenset[str]
    to_all: bool = False
    comm: bool = False
    against: bool = False

    @property
    def bare(self) -> bool:
        return not self.about


def ask_of(talk: Talk, view: View) -> Ask | None:
    """What this turn asks, if it asks stations to take their stand."""
    names = [m for m in view.names if not m.group and m.station != view.turn.station and talk.session.station(m.station)]
    names += [] if any(m.start >= view.sentences[-1][0] for m in view.names) else _misheard(talk, view) or _by_number(talk, view)
    call = called(talk, view)
    if call is None and names and names[-1] not in view.names:
        call = names[-1].start, names[-1].station
    for first, stop in reversed(view.sentences):
        to_all = view.find(_TO_ALL, first, stop) is not None or view.asks(first, stop) and any(view.has(("are", "we"), at) for at in (first, first + 1))
        to_all = to_all or view.words[first] in ("anybody", "anyone")
        ordered = view.find(_ORDERS, first, stop) is not None or view.find(_ROUND, first, stop) is not None
        to_all = to_all or view.find(_ROUND, first, stop) is not None or ordered and call is not None and not pointed(view) and stop - first > _SHORT
        to_all = to_all or ordered and not view.names and "when" in view.words[first:stop]  # 'let me know when you're strapped in'
        here = [m for m in names if first <= m.start < stop]
        behind = [m for m in names if m.start >= stop]
        if not (view.asks(first, stop) or ordered or to_all and _opens_question(view, first)) or set(view.words[first:stop]) & _WH - {"when"} \
                or _counts(view, first, stop):
            continue
        about = _content(view, first, stop, here)
        comm = view.find(_COMM, first, stop) is not None
        against = speaks_against(view, first, stop)
        listed = [m for m in (*here, *behind) if m not in view.names or _called_out(view, m)]
        if to_all or len(listed) >= _LISTED or about and behind and (call or _short_call(view, behind[-1])):
            calls = [(m.start, m.station) for m in listed]
            return Ask(tuple(calls or [call] if call else calls), about, to_all=True, comm=comm, against=against)
        if len(here) == 1 and about and stop - first <= _POINTED and (view.asks(first, stop) or ordered):
            return Ask(((here[0].start, here[0].station),), about, comm=comm, against=against)
    if call:
        return Ask((call,), frozenset(), comm=view.find(_COMM) is not None)
    return _unpointed(view, names)


def speaks_against(view: View, first: int, stop: int) -> bool:
    """'Any concerns?', 'anything against it?', 'anybody not ready?': whoever says no lets it go on."""
    said = view.words[first:stop]
    things = any(word == "any" and first + i + 1 < stop and view.words[first + i + 1] not in ANY_GOOD for i, word in enumerate(said))
    return things or "anything" in said or bool(set(said) & {"anyone", "anybody"} and set(said) & _AGAINST)


def _unpointed(view: View, names: list[Mention]) -> Ask | None:
    """'guard all right behind', as a recogniser may write a question: a name, and a few words; the answer must tell that it was one."""
    if pointed(view) or len(names) != 1 or view.turn.tokens[-1].ends_clause or not _LISTED < len(view.words) <= _SHORT or _counts(view, 0, len(view.words)):
        return None
    about = _content(view, 0, len(view.words), names)
    behind = view.words[names[0].end:names[0].end + 1] if names[0].start == 0 else view.words[:1] if names[0].end == len(view.words) else ()
    asks = bool(behind) and (behind[0] in _ASKS_FIRST or bool(about & STANCES))  # 'bow shut your valve' orders
    return Ask(((names[0].start, names[0].station),), about) if about and asks and not set(view.words) & _WH else None


def _content(view: View, first: int, stop: int, names: list[Mention]) -> frozenset[str]:
    named = {i for m in names for i in range(m.start, m.end)}
    return frozenset(view.words[i] for i in range(first, stop) if i not in named and not is_function_word(view.words[i]) and view.words[i] not in LIGHT)


def _called_out(view: View, name: Mention) -> bool:
    """A name that stands alone in its clause, or is joined to others: 'Clover, Bobbin and Anvil'."""
    first, stop = view.clause(name.start)
    inside = {i for m in view.names for i in range(m.start, m.end)}
    return all(i in inside or view.words[i] in CALL_WORDS for i in range(first, stop))


def _counts(view: View, first: int, stop: int) -> bool:
    """Whether a number is said here that is no part of a name."""
    named = {i for m in view.names for i in range(m.start, m.end)}
    return any(first <= at < stop and at not in named for at in view.numbers)


def _by_number(talk: Talk, view: View) -> list[Mention]:
    """A last sentence that is one number or word that only one station's name ends in: 'Four?' for Tower Four, 'South.' for Jack South."""
    first, stop = view.sentences[-1]
    at = stop - 1
    to_all = not pointed(view) and (view.find(_TO_ALL, first, stop) or view.find(_ROUND, first, stop))
    alone = stop - first == 1 and (at in view.numbers or view.words[at].isalpha())
    if not alone and not (to_all and at in view.numbers) or view.turn.tokens[at].ends_clause \
            and not view.turn.tokens[at].text.endswith(("?", ".")):
        return []
    figure = plain_word(view.turn.tokens[at])
    owners = {station for words, station in call_book(talk).names.items() if len(words) > 1 and words[-1] == figure}
    return [Mention(at, stop, owners.pop(), exact=False)] if len(owners) == 1 else []


def _misheard(talk: Talk, view: View) -> list[Mention]:
    """A last sentence that is all one name, spelt by ear: 'Camer one.' for Camera One."""
    first, stop = view.sentences[-1]
    if stop - first > _NAME or not any(len(view.words[i]) > _NAME for i in range(first, stop)):
        return []
    found = call_book(talk).at([plain_word(token) for token in view.turn.tokens], first, like=True)
    return [found] if found and found.end == stop and found.station != view.turn.station and talk.session.station(found.station) else []


def _short_call(view: View, name: Mention) -> bool:
    """The name at the head of a last sentence of a few words ('Propulsion, your condition')."""
    first, stop = view.sentence(name.start)
    return name.start == first and stop == len(view.words) and stop - name.end <= _LISTED


def _opens_question(view: View, first: int) -> bool:
    return view.words[first:first + 1] in (("is",), ("are",), ("everyone",), ("everybody",), ("all",), ("has",), ("have",), ("anybody",), ("anyone",))


def called(talk: Talk, view: View) -> tuple[int, str] | None:
    """The station called by name, and by nothing but words that ask for its answer, at the end of a turn: token and station."""
    name = view.names[-1] if view.names else None
    if name is None or name.group or name.station == view.turn.station or not talk.session.station(name.station):
        return None
    first = max((start for start, _ in view.clauses if start <= name.start), default=0)
    bare = name.end == len(view.words) and set(view.words[first:name.start]) <= CALL_WORDS
    told = view.words[name.end - 1].endswith("'s")
    sentence = view.sentence(name.start)
    if first > sentence[0] and set(view.words[sentence[0]:first]) & STANCES and not view.asks(*sentence):
        return None  # 'Tug's clear now, Master': told to that station
    asked = not told and view.sentence(name.start)[1] == len(view.words) and set(view.words[name.end:]) <= CALL_WORDS and first == name.start
    return (name.start, name.station) if bare or asked or name.end == len(view.words) and not pointed(view) else None


def pointed(view: View) -> bool:
    """Whether the turn is written with points and commas; where none are, the last name is taken for a call."""
    return any(token.ends_clause for token in view.turn.tokens[:-1])

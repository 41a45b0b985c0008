"""Rounds: stations called one after another by name alone, who all answer with the same word. Common practice, no source.

'Fore end.' 'Clear.' 'After end.' 'Clear.' is a poll, though nobody said so; its word is what the stations answer with, whatever the trade
says ('stable', 'shackled', 'manned'). A round of comm checks or of readings has no such word.
"""
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ..wording.english import is_function_word
from .talk import Talk
from .view import View, once, views

STANCES = frozenset("ready set clear good happy stable green go fine satisfied secure secured manned content comfortable".split())
"""Words by which people in many trades say that they may be counted on; others are learnt where a whole round uses them."""
_COMM = frozenset("receiving receive received hearing hear hears reads read got "
                  "here hello hi morning afternoon evening loud reading readable copy copied roger thanks thank five fives you yes no okay ok on affirm "
                  "affirmative negative over out again please now sorry wilco nothing too also still back yet standby".split())
CALL_WORDS = frozenset("and okay ok then so now roger copy copied thanks thank you finally last first how about over to from go no or all right "
                       "right next please your yours status condition good alright lovely fine".split())
_REACH, _CLOSE, _LONG = 6, 3, 3
_SHORT = 5


@dataclass(frozen=True, slots=True)
class Round:
    """calls: turn and token of the name, with the station called; words: what the stations answer with; last: the last turn of it."""

    calls: tuple[tuple[int, int, str], ...]
    words: frozenset[str]
    last: int

    @property
    def first(self) -> int:
        return self.calls[0][0]


def rounds(talk: Talk) -> Mapping[int, Round]:
    """Rounds by each turn from their first call on, up to a few turns behind the last answer."""
    return once(talk, "_rounds", lambda given: {turn: found for found in _rounds(given) for turn in range(found.first, found.last + _REACH + 1)})


def _rounds(talk: Talk) -> Iterator[Round]:
    run: list[tuple[int, int, str]] = []
    turns = [view for view in views(talk) if not view.turn.commentary and not view.turn.set_aside]
    for position, view in enumerate(turns):
        called = _called(talk, view)
        if called is None:
            continue
        if run and (position - run[-1][0] > _REACH or _asks_more(view)):
            yield from _settled(run, turns)
            run = []
        run.append((position, *called))
    yield from _settled(run, turns)


def _asks_more(view: View) -> bool:
    """A call behind a question that has a stance of its own ('everybody set for the change? Flys.') begins a new round."""
    if not _pointed(view):
        return len(view.words) > _SHORT and bool(set(view.words) & STANCES)
    return any(set(view.words[start:stop]) & STANCES for start, stop in view.sentences[:-1])


def _called(talk: Talk, view: View) -> tuple[int, str] | None:
    """The station called by name, and by nothing but words that ask for its answer, at the end of a turn: token and station."""
    name = view.names[-1] if view.names else None
    if name is None or name.group or name.station == view.turn.station or not talk.session.station(name.station):
        return None
    first = max((start for start, _ in view.clauses if start <= name.start), default=0)
    bare = name.end == len(view.words) and set(view.words[first:name.start]) <= CALL_WORDS
    asked = view.sentence(name.start)[1] == len(view.words) and set(view.words[name.end:]) <= CALL_WORDS and first == name.start
    return (name.start, name.station) if bare or asked or name.end == len(view.words) and not _pointed(view) else None


def _pointed(view: View) -> bool:
    """Whether the turn is written with points and commas; where none are, the last name is taken for a call."""
    return any(token.ends_clause for token in view.turn.tokens[:-1])


def _settled(run: Sequence[tuple[int, int, str]], turns: Sequence[View]) -> Iterator[Round]:
    """The round of these calls, if several stations answer them with one word."""
    if len({station for _, _, station in run}) < 2:
        return
    said: dict[str, set[str]] = defaultdict(set)
    at: dict[str, list[int]] = defaultdict(list)
    for position, _, station in run:
        answer = turns[position + 1] if position + 1 < len(turns) else None
        if answer is None or answer.turn.station not in (None, station):
            continue
        for word in stance_words(answer):
            said[word].add(station)
            at[word].append(position)
    words = {word for word, stations in said.items() if len(stations) >= (2 if word in STANCES else 3)
             and (3 if word == "go" else 2) * len(stations) >= sum(at[word][0] <= position <= at[word][-1] for position, _, _ in run)}
    if words:
        first, last = min(at[word][0] for word in words), max(at[word][-1] for word in words)
        calls = tuple((turns[position].turn.index, start, station) for position, start, station in run if position >= first)
        yield Round(calls, frozenset(words), turns[last + 1].turn.index)


def stance_words(view: View) -> set[str]:
    """Words by which an answer may take its stand: first or last of a short clause, no word of the comm check, no number, no name."""
    found: set[str] = set()
    named = {i for mention in view.names for i in range(mention.start, mention.end)}
    for start, stop in view.clauses[:4]:
        inside = [i for i in range(start, stop) if i not in named]
        if not inside or view.asks(start, stop):
            continue
        counts = any(start <= at < stop for at in view.numbers)
        ends = {inside[0], inside[-1]} if len(inside) <= _SHORT else {inside[0]}
        found |= {word for i in ends if (word := view.words[i]) in STANCES or not counts and word.isalpha() and len(word) >= _LONG
                  and not is_function_word(word) and word not in _COMM} - ({"clear"} if "loud" in view.words[start:stop] else set())
    return found

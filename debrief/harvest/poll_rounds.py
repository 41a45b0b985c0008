"""Rounds: stations asked one after another, or all at once, who all answer with the same few words. Common practice, no source.

'Fore end.' 'Clear.' 'After end.' 'Clear.' is a poll, though nobody said so; its words are what the stations answer with, whatever the trade
says ('stable', 'in position', 'all right behind'). A round of comm checks or of readings has no such words, and neither have read-backs of an order.
"""
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from rapidfuzz import fuzz

from ..wording.english import is_function_word
from .attribution import surely_attributed
from .poll_asks import CALL_WORDS, LIGHT, PARTICLES, STANCES, Ask, ask_of, pointed
from .talk import Talk
from .view import View, once, stem, views

__all__ = ["CALL_WORDS", "STANCES", "Round", "rounds", "stand_words"]

_COMM = frozenset("receiving receive received hearing hear hears reads read got "
                  "here hello hi morning afternoon evening loud reading readable copy copied copies roger thanks thank five fives you yes no okay ok on affirm "
                  "affirmative negative over out again please now sorry wilco nothing too also still back yet standby present listening channel".split())
_YES_NO = frozenset("yes no none nothing affirm affirmative negative aye nope".split())
_REACH, _LONG, _MANY = 6, 3, 3
_SHORT, _CONTENT = 6, 4
_SAME = 88
"""Likeness from which two words of five letters and more are one word, misheard ('positio', 'position')."""


@dataclass(frozen=True, slots=True)
class Round:
    """calls: turn and token of the name, with the station called; words: what the stations answer with; first, last: turns of it;

    about: words of what was asked; asking: turns that ask in words of their own; against: they ask what speaks against it.
    """

    calls: tuple[tuple[int, int, str], ...]
    words: frozenset[str]
    first: int
    last: int
    about: frozenset[str] = frozenset()
    asking: frozenset[int] = frozenset()
    against: bool = False


@dataclass
class _Run:
    """Askings that may make a round, each with its place among the turns."""

    asks: list[tuple[int, Ask]] = field(default_factory=list)

    def answers(self, position: int, view: View, ask: Ask) -> bool:
        """Whether what looks like a question to a station is its answer, in writing without points: 'pit' 'pit hot and dry'."""
        last = self.asks[-1] if self.asks else None
        spoke = view.turn.station is None or not surely_attributed(view.turn)
        return last is not None and last[0] == position - 1 and not ask.to_all and bool(ask.about) and spoke and not view.asks(
            0, len(view.words)) and bool(last[1].calls) and last[1].calls[-1][1] == ask.calls[0][1]

    def close(self, position: int) -> bool:
        return bool(self.asks) and position - self.asks[-1][0] <= _REACH


def rounds(talk: Talk) -> Mapping[int, Round]:
    """Rounds by each turn from their first call on, up to a few turns behind the last answer."""
    return once(talk, "_rounds", lambda given: {turn: found for found in _all_rounds(given) for turn in range(found.first, found.last + _REACH + 1)})


def _all_rounds(talk: Talk) -> list[Round]:
    """Rounds, the words of each being known in all others."""
    first = list(_rounds(talk, frozenset()))
    return list(_rounds(talk, frozenset(word for found in first for word in found.words))) if first else []


def _rounds(talk: Talk, known: frozenset[str]) -> Iterator[Round]:
    run = _Run()
    turns = [view for view in views(talk) if not view.turn.commentary and not view.turn.set_aside]
    for position, view in enumerate(turns):
        ask = ask_of(talk, view)
        if ask is None or run.answers(position, view, ask):
            continue
        if run.asks and (not run.close(position) or ask.to_all or _asks_more(view, ask)):
            yield from _settled(run, turns, known)
            run = _Run()
        run.asks.append((position, ask))
    yield from _settled(run, turns, known)


def _asks_more(view: View, ask: Ask) -> bool:
    """A call behind a question that has a stance of its own ('everybody set for the change? Flys.') begins a new round."""
    if ask.about:
        return False
    if not pointed(view):
        return len(view.words) > _SHORT and bool(set(view.words) & STANCES)
    return any(set(view.words[start:stop]) & STANCES for start, stop in view.sentences[:-1])


def _settled(run: _Run, turns: Sequence[View], known: frozenset[str]) -> Iterator[Round]:
    """The round of these askings, if several stations answer them with one word. known: words of other rounds of this talk."""
    if not run.asks or run.asks[0][1].comm and all(ask.comm or ask.bare for _, ask in run.asks):
        return
    answered = list(_answers(run, turns))
    said = _said(answered, turns)
    about = frozenset(word for _, ask in run.asks for word in ask.about)
    asked_often = {word for word in about if len({c[1] for _, ask in run.asks if word in ask.about for c in ask.calls}) > 1 or any(
        ask.to_all and word in ask.about for _, ask in run.asks)}
    words = _answer_words(run, answered, said, asked_often, known | _alike_answers(answered, turns))
    firm = {word: by for word, by in said.items() if any(_alike(word, stance) for stance in STANCES)}
    if about & STANCES and len({station for by in firm.values() for station in by}) > 1:
        words |= set(firm)  # 'are you happy?': 'content', 'ready' and 'happy' are one answer
    by_yes = {station for position, station, _ in answered if turns[position].words[:1] and turns[position].words[0] in _YES_NO}
    against = any(ask.against for _, ask in run.asks)
    if not words and asked_often and len(by_yes) >= (2 if against else _MANY):
        words = asked_often  # 'any worries?' asked of each: 'none', 'no worries'
    if words:
        asked_at = [asked for word in words for asked in said.get(word, {}).values()] + [
            position for position, ask in run.asks if words is asked_often and ask.about & asked_often]
        first = min(asked_at)
        last = max(position for position, _, _ in answered if words is asked_often or any(
            _alike(word, one) for word in words for one in stand_words(turns[position])))
        calls = tuple((turns[position].turn.index, start, station) for position, ask in run.asks if position >= first and position <= last
                      for start, station in ask.calls if ask.bare or ask.to_all or ask.about & asked_often)
        spelt = {word for position, _, _ in answered for word in stand_words(turns[position]) if any(_alike(word, one) for one in words)}
        yield Round(calls, frozenset(spelt), turns[first].turn.index, turns[last].turn.index,
                    frozenset(word for _, ask in run.asks if ask.about & asked_often for word in ask.about),
                    frozenset(turns[position].turn.index for position, ask in run.asks if ask.about),
                    against)


def _said(answered: Sequence[tuple[int, str, int]], turns: Sequence[View]) -> dict[str, dict[str, int]]:
    """Words of stand, each with the stations that use it and where these were asked."""
    said: dict[str, dict[str, int]] = defaultdict(dict)
    for position, station, asked in answered:
        for word in stand_words(turns[position]):
            said[_known(word, said)].setdefault(station, asked)
    return said


def _answer_words(run: _Run, answered: Sequence[tuple[int, str, int]], said: Mapping[str, Mapping[str, int]], asked_often: set[str],
                  known: frozenset[str]) -> set[str]:
    """Words that enough stations answer with: two for a known stance, what was asked or what is known, three for another."""
    bare = {position for position, ask in run.asks if ask.bare or ask.to_all}
    words = set()
    for word, by in said.items():
        enough = 2 if word in STANCES | known or any(_alike(word, other) for other in asked_often) else _MANY
        within = sum(min(by.values()) <= asked <= max(by.values()) for _, _, asked in answered)
        if len(by) >= enough and (3 if word == "go" else 2) * len(by) >= within and (word in asked_often or bare & set(by.values())):
            words.add(word)
    return words


def _alike_answers(answered: Sequence[tuple[int, str, int]], turns: Sequence[View]) -> frozenset[str]:
    """Words of answers that two stations give word for word."""
    given: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for position, station, _ in answered:
        given[tuple(stand_words(turns[position]))].add(station)
    return frozenset(word for words, stations in given.items() if len(stations) > 1 for word in words)


def _answers(run: _Run, turns: Sequence[View]) -> Iterator[tuple[int, str, int]]:
    """Turns that answer these askings: their place, the station, and the place of the asking."""
    asked_at = {position for position, _ in run.asks}
    taker = turns[run.asks[0][0]].turn.station
    for number, (position, ask) in enumerate(run.asks):
        later = run.asks[number + 1][0] if number + 1 < len(run.asks) else len(turns)
        if not ask.to_all:
            answer = turns[position + 1] if position + 1 < len(turns) else None
            if answer and position + 1 not in asked_at and (answer.turn.station in (None, ask.calls[0][1]) or not surely_attributed(answer.turn)):
                yield position + 1, ask.calls[0][1], position
            continue
        quiet = 0
        for at in range(position + 1, min(later, len(turns))):
            station = _own(turns[at], taker)
            quiet = 0 if station and stand_words(turns[at]) else quiet + 1
            if quiet > 2:
                break
            if station:
                yield at, station, position
        if len(ask.calls) == 1 and position + 1 < later and _own(turns[position + 1], taker) is None and turns[position + 1].turn.station is None:
            yield position + 1, ask.calls[0][1], position


def _own(view: View, taker: str | None) -> str | None:
    """The station that speaks, where it is not the one that asks; by its own name where nobody knows."""
    station = view.turn.station
    named = view.names[0].station if view.names and view.names[0].start <= 1 and not view.names[0].group else None
    if station == taker and (surely_attributed(view.turn) or named is None):
        return None
    return named if station is None or station == taker else station


def _known(word: str, said: Mapping[str, object]) -> str:
    """The word as it was said first, where a recogniser spelt it otherwise."""
    return next((known for known in said if _alike(word, known)), word)


def _alike(one: str, other: str) -> bool:
    one, other = (word.removesuffix("ies") + "y" if word.endswith("ies") else word for word in (one, other))
    return one == other or stem(one) == stem(other) or min(len(one), len(other)) >= 5 and fuzz.ratio(one, other) >= _SAME


def stand_words(view: View) -> list[str]:
    """Words by which an answer may take its stand: those of a short clause with no number in it, none of the comm check, no name."""
    found: list[str] = []
    named = {i for mention in view.names for i in range(mention.start, mention.end)}
    for start, end in view.clauses[:4]:
        if view.asks(start, end) or set(view.words[start:end]) <= LIGHT:
            continue
        stop = end if pointed(view) else min(end, start + _SHORT)
        counts = any(start <= at < stop and at not in named for at in view.numbers)
        inside = [i for i in range(start, stop) if i not in named and not is_function_word(view.words[i]) and view.words[i] not in LIGHT]
        if not inside:
            inside = [i for i in range(start, stop) if view.words[i] in PARTICLES][-1:]
        if len(inside) > _CONTENT:
            inside = [inside[0], *(i for i in inside if view.words[i] in STANCES)]
        told = ((view.words[i], "loud" in view.words[start:stop]) for i in inside)
        found += [word for word, loud in told if not (loud and word == "clear") and (
            word in STANCES or word in PARTICLES and len(inside) == 1 or not counts and word.isalpha() and len(word) >= _LONG and word not in _COMM)]
    return list(dict.fromkeys(found))

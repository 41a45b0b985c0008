"""What sort of value a question or a heading asks for: 'How low can it go?' a limit, 'What do you need?' a target, 'What did you expect?' a forecast.

A bare answer says no more than a number; its class is that of what was asked. Common practice, no source.
"""
import re
from collections.abc import Sequence
from dataclasses import replace

from .mood_words import MOST_SAID
from .readout_found import Found
from .readout_moods import told
from .talk import Talk
from .view import View, views

_LIMITS = re.compile(
    r"\b(limit|limits|ceiling|red ?line|bingo|amber|placard|never exceed|allowed|permitted|allowance|tolerance|criterion|criteria|minimums)\b|"
    r"\bwhat(?:'s| is| are|'re)? (?:the |your |our |its |his |her |my )?(?:most|least|band|rule|floor|(?:\w+ )?(?:alarm|trip|abort|cut ?off|stop))\b|"
    r"\b(?:the )?(?:most|least) (?:we|you|they|it|he|she)(?:'ll|'d| can| will| would)? (?:allow|take|want|accept|go|do)\b|"
    r"\bhow (?:low|high|far|hot|cold|fast|slow|deep|hard|much|long|steep|heavy) (?:can|may|could|does it have to|do you let|should we let|will you let|dare)\b|"
    r"\b(?:has|have|had|got|needs?) to (?:be|stay|stop|keep) (?:under|below|above|over|within|inside)\b|"
    r"\b(?:what|where|when) (?:do|did|would|will|should) (?:you|we|they|i) (?:\w+ )?(?:stop|abort|quit|turn back|turn round|turn around|pull out|pull off|break off|"
    r"knock it off|shut down|call it|bail out|go home|trip|worry|change over|come back)\b|"
    r"\b(?:good|rated|safe|cleared|certified|tested|proofed) (?:for|to)\b|\b(?:safe|rated) (?:working|load)|\binjury\b|"
    r"^(?:\w+ )?(?:alarm|trip|scram|abort|cut ?off|bingo|alert)(?: \w+)?$|"
    r"^(?:the )?(?:alarm|trip|amber|red) (?:on|for|at)\b|\b(?:rule|rules)(?:'s| is| are)?\b.*\b(?:no|over|under|above|below|more than|less than)\b")
_TARGETS = re.compile(r"\bwhat (?:\w+ )?(?:do|would|are|were|did|will) (?:you|we|they) (?:need|want|like|trying for|aiming for|after|aiming at|looking for)\b|"
                      r"\bwhat(?:'s| is| was) (?:the|your|our) (?:target|aim|setting|set ?point|goal)\b|"
                      r"\b(?:where|what) (?:do|would) you (?:want|like) (?:it|them|her|him|me|us)\b")
_FORECASTS = re.compile(r"\b(?:expect|expected|expecting|predict|predicted|prediction|predictions|forecast|estimate|estimated|calculated|calculation)\b|"
                        r"\bwhat (?:did|does|do) (?:the )?(?:\w+ )?"
                        r"(?:design|model|sum|plot|curve|book|table|chart|theory|calculation|simulation)s? (?:say|give|have|want|make)\b")
_HEADS = re.compile(r"^(?:(?:okay|and|now|so|right|then|the|our|your|my|all|any|go|no go|hard|trial|test|safety) )*"
                    r"(?P<sort>limits?|stop criteria|stop limits|abort (?:criteria|limits|numbers)|termination (?:criteria|numbers|limits)|"
                    r"minimums|red ?lines|alarms|trips|criteria|(?:expected|predicted|forecast) (?:numbers|values|figures)|predictions|forecasts?|"
                    r"targets?|target (?:numbers|values|figures)|settings)\b")
_MOST_BEFORE = 3
"""So many words may stand before the first value of an answer that tells nothing of itself ('HR 165 or core 38.5, whichever')."""


def asked_sort(talk: Talk, view: View) -> str | None:
    """The class that the question just before the turn asks for; None where nobody asked for one."""
    turn = view.turn
    before = talk.turns[turn.index - 1] if turn.index else None
    if before is None or turn.station is not None and before.station == turn.station:
        return None
    other = views(talk)[before.index]
    first, stop = other.sentences[-1] if other.sentences else (0, 0)
    said = " ".join(other.words[first:stop])
    if not said:
        return None
    if not before.text.rstrip().endswith("?"):
        return _heading(said) if not told(other, first, stop) and not any(first <= at < stop for at in other.numbers) else None
    sorts = (("limit", _LIMITS), ("target", _TARGETS), ("forecast", _FORECASTS))
    return next((sort for sort, known in sorts if known.search(said)), None)


def _heading(said: str) -> str | None:
    found = _HEADS.match(said)
    if found is None:
        return None
    word = found["sort"]
    return "forecast" if word.startswith(("expected", "predicted", "prediction", "forecast")) else "target" if word.startswith(("target", "setting")) else "limit"


def with_asked_sorts(talk: Talk, view: View, found: Sequence[Found]) -> list[Found]:
    """The values of a turn; bare answers to a question for a limit, and what stands under a heading of limits, are such."""
    asked = asked_sort(talk, view)
    return [replace(item, sort=sort) if item.sort in ("measured", "plan") and (sort := _sort_of(view, item, asked)) is not None else item for item in found]


def _sort_of(view: View, item: Found, asked: str | None) -> str | None:
    first, _ = view.sentence(item.number.start)
    if told(view, first, item.number.start):
        return None
    if asked is not None and item.sort != asked and (first == 0 or _is_headed(view, first)) and _bare(view, item, first):
        return asked
    if not first or item.sort != "measured":
        return None
    while first:
        first, high = view.sentence(first - 1)
        headed = not any(first <= at < high for at in view.numbers) and not told(view, *view.clause(first))  # 'Stop criteria, so we all have them'
        if headed and (sort := _heading(" ".join(view.words[first:high]))) is not None:
            return sort
        if told(view, first, high):
            return None
    return None


def _is_headed(view: View, first: int) -> bool:
    """Whether all sentences before are as bare as an answer's."""
    return not told(view, 0, first)


def _bare(view: View, item: Found, first: int) -> bool:
    between = [word for i, word in enumerate(view.words[first:item.number.start], first) if word and not any(n.start <= i < n.end for n in view.numbers.values())]
    return len(between) <= _MOST_BEFORE + MOST_SAID

"""One witness from all the words around a value: how rows with such words went in labelled talk.

The other witnesses ask what a careful reader would ask. This one has no questions of its own: each word before, behind and between a value and
its name, each pair of them, and the ends of the turns before have a weight, fitted to rows that labels call right or wrong
(tests/bench/calibrate.py). The name's own words stand as NAME and figures as 0, so that what is learnt is how things are said, not what is
measured. wordings.json holds the weights; a word that it does not know counts nothing. Where words have probabilities it says nothing: what a
recogniser makes of sound was not written by anybody, and there it told no more than the others.
"""
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from math import exp

from ..records.rows import Row
from ..records.talk import Turn
from ..wording.protected import is_number_word
from .repeats import NAME_FIELD
from .word_witnesses import Spot

WORDING = "wording: like that of rows that were right"
NAME, FIGURE = "NAME", "0"
_NEAR, _BEFORE, _BEHIND, _SIDE_BEFORE, _SIDE_BEHIND, _TURN_END = 5, 12, 8, 25, 15, 20
_ENDS = frozenset(".?!")
_EDGES = ".,;:!?\"()—-…"


@dataclass(frozen=True, slots=True)
class Wordings:
    """Log odds that a row is right, by what its words show: bias and the weight of each thing that is shown."""

    bias: float
    weights: Mapping[str, float]

    def chance(self, shown: frozenset[str]) -> float:
        total = self.bias + sum(self.weights.get(item, 0.0) for item in sorted(shown))
        return 1 / (1 + exp(-max(-30.0, min(30.0, total))))


@cache
def wordings() -> Wordings:
    """The weights that ship with the package."""
    data = json.loads(resources.files(__package__).joinpath("wordings.json").read_text(encoding="utf-8"))
    return Wordings(data["bias"], data["weights"])


def shown_by(row: Row, spot: Spot, turns: Sequence[Turn]) -> frozenset[str]:
    """All that the words around a row's value show, by name; nothing of a turn that was heard. turns: all of the talk; spot lies in one of them."""
    if any(token.probability is not None for token in spot.view.turn.tokens):
        return frozenset()
    name = str(row.get(NAME_FIELD.get(row.kind, "")) or "").lower().split()
    own = frozenset(name) | {word[:5] for word in name if len(word) > 3}
    said = [token.text for token in spot.view.turn.tokens]
    left, right = _plain(said[:spot.start], own), _plain(said[spot.end:], own)
    right = [*_pause(said[spot.end - 1]), *right]
    at = spot.view.turn.index
    return frozenset((*_beside(left, right, row), *_tied(left, right), *_turns_before(turns[max(0, at - 2):at], own), *_of_row(row, name),
                      f"place {min(spot.start, 6)}", f"length {min(len(said) // 5, 8)}"))


def _plain(words: Sequence[str], own: frozenset[str]) -> list[str]:
    """Words without case, figures and number words as one, the name's words as one, pauses kept."""
    found = []
    for word in words:
        plain = word.lower().strip(_EDGES)
        if plain:
            figure = is_number_word(plain) or bool(re.search(r"\d", plain))
            found.append(FIGURE if figure else NAME if plain in own or len(plain) > 3 and plain[:5] in own else plain)
        found += _pause(word)
    return found


def _pause(word: str) -> list[str]:
    end = word[-1:]
    return [end] if end in _ENDS else [","] if end in (",", ";", ":") else []


def _beside(left: Sequence[str], right: Sequence[str], row: Row) -> Iterator[str]:
    """Words by their place, pairs of neighbours, and the words of the sentence and of the turn on each side."""
    kind, back = row.kind[:3], left[::-1]
    sort = f"{kind} {row.get('class') or 'measured'}"
    for side, words in (("before", back), ("behind", right)):
        for place, word in enumerate(words[:_NEAR]):
            yield f"{kind} {side} {place} {word}"
        for place in range(min(3, len(words) - 1)):
            yield f"{side} {place} {words[place]} {words[place + 1]}"
    for side, words, most in (("before", back, _BEFORE), ("behind", right, _BEHIND)):
        stop = next((place for place, word in enumerate(words) if word in _ENDS), len(words))
        yield from (f"{sort} {side} {word}" for word in words[:min(stop, most)])
    yield from (f"left {word}" for word in left[-_SIDE_BEFORE:])
    yield from (f"right {word}" for word in right[:_SIDE_BEHIND])


def _tied(left: Sequence[str], right: Sequence[str]) -> Iterator[str]:
    """What stands between the value and its name."""
    if NAME in left:
        between = left[len(left) - left[::-1].index(NAME):]
        yield from (f"between {' '.join(between[:6])}", f"apart {min(len(between), 8)}", *(f"within {word}" for word in between))
        return
    yield "not before"
    if NAME in right:
        between = right[:right.index(NAME)]
        yield from (f"until {' '.join(between[:5])}", f"ahead {min(len(between), 6)}")


def _turns_before(turns: Sequence[Turn], own: frozenset[str]) -> Iterator[str]:
    for back, turn in enumerate(reversed(turns), 1):
        words = _plain([token.text for token in turn.tokens], own)
        if words:
            yield f"turn {back} ends {' '.join(words[-2:])}"
            yield from (f"turn {back} {word}" for word in words[-_TURN_END:])
            yield from (f"turn {back} has {mark}" for mark in ("?", NAME) if mark in words)


def _of_row(row: Row, name: Sequence[str]) -> Iterator[str]:
    yield f"head {name[-1] if name else ''}"
    yield from (f"name {word}" for word in name)
    unit = row.fields.get("unit")
    yield f"unit {'' if unit is None else str(unit.value or '').lower()}"
    yield f"unit is {'' if unit is None else unit.origin}"
    named = row.fields.get(NAME_FIELD.get(row.kind, ""))
    yield f"name is {'' if named is None else named.origin}"
    yield f"class {row.get('class') or 'measured'}"
    value = str(row.get("value") if row.get("value") is not None else "")
    yield f"figures {len(value)}"
    if "." in value:
        yield "decimals"

"""Ratings of what no plan lists: 'How's the heat, one to five?' 'Heat's a four. Breathing a two.'

The question tells the scale by its ends; what is rated is what the question or the answer names.
"""
from collections.abc import Sequence

from ..session import Scale
from ..wording.english import is_function_word
from .readout_words import FILLERS, HEDGES
from .view import View

OPEN_TURNS = 5
MOST_WORDS = 3
_RATES = frozenset("rate rating rated scale".split())
_LINKS = frozenset("is are was 's a an the at i'd say call it give i'll still maybe about only just for me that's it's and".split()) | HEDGES | FILLERS


def scale_asked(view: View, scales: Sequence[Scale]) -> tuple[Scale, str] | None:
    """The scale whose ends a question names, and what it asks to be rated ('' where it names nothing)."""
    asks = "?" in view.turn.text or bool(_RATES & set(view.words)) or "please" in view.words
    for number in view.numbers.values() if asks else ():
        high = number.value_high
        if high is None or number.value not in (0, 1) or not 3 <= high <= 20 or high % 1:
            continue
        first, _ = view.sentence(number.start)
        named = {i for mention in view.names for i in range(mention.start, mention.end)}
        words = [view.words[i] for i in range(first, number.start) if i not in named]
        known = next((scale for scale in scales if (scale.low, scale.high) == (int(number.value), int(high))), None)
        return known or Scale(name=f"{number.value} to {high}", low=int(number.value), high=int(high)), _name(words)
    return None


def free_axis(view: View, low: int, start: int) -> str:
    """What stands before a value from token low on: 'Heat's a four' -> 'heat'; '' where only linking words do."""
    first = max(low, view.clause(start)[0])
    named = {i for mention in view.names for i in range(mention.start, mention.end)}
    return _name([view.words[i] for i in range(first, start) if i not in named])


def _name(words: Sequence[str]) -> str:
    kept = [word.removesuffix("'s") for word in words if word not in _LINKS and not is_function_word(word) and word not in _RATES | {"how's", "scale", "your"}]
    return " ".join(kept) if len(kept) <= MOST_WORDS and all(word.isalpha() for word in kept) else ""

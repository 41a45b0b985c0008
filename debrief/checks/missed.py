"""How many values a turn is expected to hold that no row tells: where to listen for what recognition missed.

Poisson regression over what is known of the turn (log of the expected number = bias + sum of weight x witness), fitted to labelled sound
by tests/bench/calibrate.py, kept in calibration.json.
"""
from collections import Counter
from collections.abc import Mapping
from math import exp
from statistics import fmean

from ..records.talk import Turn
from ..wording.english import rarity
from ..wording.protected import is_number_word
from .review import Review

VALUE_KINDS = frozenset(("readouts", "ratings", "clock_calls"))
MOST = 6.0
"""More than this is expected of no turn."""


def missed_witnesses(review: Review) -> dict[int, dict[str, float]]:
    """For each turn that may give rows and has sound: its witnesses, by turn index."""
    turns = [turn for turn in review.talk.operational() if turn.span is not None]
    told = Counter(row.turn for row in review.rows if row.turn is not None)
    values = Counter(row.turn for row in review.rows if row.turn is not None and row.kind in VALUE_KINDS)
    found = {}
    for at, turn in enumerate(turns):
        near = {"before": turns[at - 1] if at else None, "after": turns[at + 1] if at + 1 < len(turns) else None}
        found[turn.index] = _of_turn(review, turn, (told, values)) | _around(review, near)
    return found


def _of_turn(review: Review, turn: Turn, counts: tuple[Counter[int], Counter[int]]) -> dict[str, float]:
    told, values = counts
    numbers = len(review.talk.numbers[turn.index])
    known = [token.probability for token in turn.tokens if token.probability is not None]
    plain = [word for token in turn.tokens if (word := token.norm).isalpha() and not is_number_word(word)]
    return {"rare words": fmean(map(rarity, plain)) if plain else 0.0, "numbers without a row": min(max(0, numbers - told[turn.index]), 4) / 4,
            "seconds": min(turn.span.duration_s if turn.span else 0.0, 15.0) / 15, "a number": float(numbers > 0), "numbers": min(numbers, 5) / 5,
            "badly heard": 1 - fmean(known) if known else 0.5, "gave a row": float(told[turn.index] > 0),
            "gave a value": float(values[turn.index] > 0), "values": min(values[turn.index], 5) / 5,
            "asks": float(any("?" in token.text for token in turn.tokens)), "station known": float(turn.station is not None)}


def _around(review: Review, near: Mapping[str, Turn | None]) -> dict[str, float]:
    return {f"a number {where}": float(turn is not None and len(review.talk.numbers[turn.index]) > 0) for where, turn in near.items()} | {
        f"asked {where}": float(turn is not None and any("?" in token.text for token in turn.tokens)) for where, turn in near.items()}


def expected_missed(review: Review, weights: Mapping[str, float]) -> dict[int, float]:
    """The number of missed values expected in each turn, by turn index."""
    return {index: min(MOST, exp(weights["bias"] + sum(weights.get(name, 0.0) * value for name, value in witnesses.items())))
            for index, witnesses in missed_witnesses(review).items()}



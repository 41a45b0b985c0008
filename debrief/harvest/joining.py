"""Pieces of one station's speech joined again, once it is known who speaks.

People breathe in the middle of what they say. Cut from words and pauses alone, "Shoulder's better. | One out of ten." are two pieces, and the
second says nothing by itself. When both are surely told for the same station, nothing calls anybody and no question waits for an answer, they are one
turn, as a typist would write them.
"""
from collections.abc import Sequence

from ..records.talk import Turn
from .attribution import NAMED, surely_attributed
from .callsigns import Call
from .cutting import told_again

BREATH_S = 1.2
_LONGEST_WORDS, _LONGEST_S = 60, 20.0
_BEGINS_ANEW = frozenset("roger copy copied wilco say affirm affirmative negative go understood thanks".split())


def runs_of_one_station(turns: Sequence[Turn], calls: Sequence[Call]) -> list[list[int]]:
    """Indexes of the turns, those that belong together in one list; channel by channel, in order of their first."""
    runs: list[list[int]] = []
    last: dict[object, list[int]] = {}
    for turn in turns:
        run = last.get(turn.source)
        if run is not None and _goes_on([turns[i] for i in run], turn, calls[turn.index]):
            run.append(turn.index)
            continue
        run = [turn.index]
        last[turn.source] = run
        runs.append(run)
    return runs


def _goes_on(run: Sequence[Turn], turn: Turn, call: Call) -> bool:
    first, before = run[0], run[-1]
    if turn.source is None or turn.station is None or turn.station != before.station or NAMED in (*turn.attribution, *before.attribution):
        return False
    if not (surely_attributed(turn) and surely_attributed(before)):
        return False
    if turn.commentary or before.commentary or turn.set_aside or before.set_aside or call.by or call.to or call.first or call.asks:
        return False
    if before.end_s is None or turn.start_s is None or turn.end_s is None or first.start_s is None or turn.start_s - before.end_s > BREATH_S:
        return False
    if sum(len(item.tokens) for item in run) + len(turn.tokens) > _LONGEST_WORDS or turn.end_s - first.start_s > _LONGEST_S:
        return False
    return not (before.text.rstrip().endswith("?") or turn.tokens[0].norm in _BEGINS_ANEW or told_again(turn.tokens, before.tokens))

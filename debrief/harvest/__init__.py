"""Rows and questions from the talk. Each extractor is a function of the Talk; their order is the order of claims."""
from collections.abc import Callable, Sequence

from ..records.rows import Row
from .clock_calls import clock_calls
from .clock_events import clock_events
from .polls import polls
from .readouts import readouts
from .steps import steps
from .talk import Talk
from .time_hacks import time_hacks
from .times import times

Extractor = Callable[[Talk], list[Row]]
EXTRACTORS: Sequence[Extractor] = (clock_calls, times, clock_events, time_hacks, steps, polls, readouts)


def harvest(talk: Talk) -> list[Row]:
    """All rows of the talk, in the order of their places. Commentary gives none."""
    rows = [row for extract in EXTRACTORS for row in extract(talk)]
    return sorted(rows, key=lambda row: (row.turn if row.turn is not None else -1))

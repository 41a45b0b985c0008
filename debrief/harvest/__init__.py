"""Rows and questions from the talk. Each extractor is a function of the Talk; their order is the order of claims."""
from collections.abc import Callable, Sequence

from ..records.rows import Row
from .anomalies import anomalies
from .clock_calls import clock_calls
from .clock_events import clock_events
from .comparisons import comparisons
from .decisions import decisions
from .events import events
from .identifiers import identifiers
from .name_doubts import with_name_doubts
from .open_items import open_items
from .polls import polls
from .qualitative import qualitative
from .ratings import ratings
from .readbacks import readbacks
from .readouts import readouts
from .remarks import remarks
from .sense_doubts import with_doubts
from .steps import steps
from .stop_calls import stop_calls
from .talk import Talk
from .time_hacks import time_hacks
from .times import times
from .unsaid_units import without_guesses

Extractor = Callable[[Talk], list[Row]]
EXTRACTORS: Sequence[Extractor] = (clock_calls, times, clock_events, time_hacks, steps, ratings, remarks, polls, identifiers, comparisons, readouts,
                                   qualitative, readbacks, anomalies, open_items, stop_calls, decisions)


def harvest(talk: Talk) -> list[Row]:
    """All rows of the talk, in the order of their places. Commentary gives none."""
    rows = with_name_doubts(talk, with_doubts(talk, without_guesses(talk, [row for extract in EXTRACTORS for row in extract(talk)])))
    rows += events(talk, rows)
    return sorted(rows, key=lambda row: (row.turn if row.turn is not None else -1))

"""The whole story: every line in order, and what was planned and never said."""

from story_before import FIRST, POLL
from story_rows import Row, covered
from story_run import LAST, RUN

LINES = [*FIRST, *POLL, *RUN, *LAST]
NEVER_SAID: list[Row] = [
    covered("1", "step", "1d", "not asked"),
    covered("2", "readout", "battery voltage", "not asked", "cabin"),
    covered("3", "rating", "hand rail", "not asked", "Warden"),
]

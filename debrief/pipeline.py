"""The only file that knows the order of the rooms."""
from collections.abc import Sequence
from pathlib import Path

from .harvest import harvest
from .harvest.conversation import cut_turns
from .harvest.talk import Talk
from .hearing.saved_transcript import read_transcript
from .records.rows import Row
from .records.sound import Segment, Source
from .session import Session
from .wording.correction import read_all


def rows_of_segments(segments: Sequence[Segment], session: Session) -> list[Row]:
    """Wording, conversation and harvest over segments that are heard already."""
    tokens = read_all(segments, session)
    turns = cut_turns(segments, tokens, session)
    return harvest(Talk(turns, session))


def harvest_transcript(path: Path, session: Session) -> list[Row]:
    return rows_of_segments(read_transcript(path, Source("r1", 0)), session)

"""What a run leaves in its folder: tables, the transcript, captions and the debrief sheet."""
import json
from collections.abc import Sequence
from pathlib import Path

from ..records.sound import Recording
from ..records.talk import Turn
from ..session import Session
from ..store.sessions import SessionStore
from .tables import write_tables
from .whole_files import write_whole


def write_run(store: SessionStore, session: Session, out: Path, recordings: Sequence[Recording]) -> None:
    """Everything people take from a run, written anew from the store."""
    accepted = store.accepted_pass()
    turns = store.turns(accepted) if accepted is not None else []
    write_tables(store.rows(), out)
    write_whole(out / "transcript.jsonl", "".join(transcript_line(turn) for turn in turns))


def transcript_line(turn: Turn) -> str:
    """One turn as JSON: start_s, end_s, loop, station, text as read, heard."""
    heard = " ".join(token.heard for token in turn.tokens if token.heard)
    return json.dumps({"start_s": _rounded(turn.start_s), "end_s": _rounded(turn.end_s), "loop": turn.loop, "station": turn.station,
                       "text": turn.text, "heard": heard}, ensure_ascii=False) + "\n"


def _rounded(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 3)

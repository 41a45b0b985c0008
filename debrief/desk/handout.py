"""What a run leaves in its folder: tables, the transcript, captions and the debrief sheet."""
import json
from collections.abc import Sequence
from pathlib import Path

from ..records.sound import Recording
from ..records.talk import Turn
from ..session import Session
from ..store.sessions import Seal, SessionStore
from .captions import ctm, subrip, webvtt
from .formats import clocks_of, write_all
from .sheet import sheet
from .sheet_parts import Material
from .tables import write_tables
from .whole_files import write_whole


def write_run(store: SessionStore, session: Session, out: Path, recordings: Sequence[Recording]) -> None:
    """Everything people take from a run, written anew from the store: CSV beside the store, other forms in `tables/`."""
    accepted = store.accepted_pass()
    turns = store.turns(accepted) if accepted is not None else []
    rows, seal = store.rows(), store.seal()
    write_tables(rows, out, clocks_of(recordings))
    write_all(rows, out / "tables", recordings, {"title": session.title, "signed": _signed(seal)})
    write_whole(out / "transcript.jsonl", "".join(transcript_line(turn) for turn in turns))
    write_whole(out / "transcript.vtt", webvtt(turns, session.title))
    write_whole(out / "transcript.srt", subrip(turns))
    write_whole(out / "transcript.ctm", ctm(turns, recordings))
    checks, listening = (store.checks(accepted), store.listening(accepted)) if accepted is not None else ([], [])
    write_whole(out / "sheet.html", sheet(Material(rows, session, checks, listening), recordings, seal))


def _signed(seal: Seal | None) -> str:
    if seal is None:
        return "not signed"
    state = "; the seal is broken by later changes" if seal.broken else ""
    return f"by {seal.who}, {seal.at_utc}; heard by a person {seal.heard}, not {seal.not_heard}{state}"


def transcript_line(turn: Turn) -> str:
    """One turn as JSON: start_s, end_s, loop, station, text as read, heard."""
    heard = " ".join(token.heard for token in turn.tokens if token.heard)
    return json.dumps({"start_s": _rounded(turn.start_s), "end_s": _rounded(turn.end_s), "loop": turn.loop, "station": turn.station,
                       "text": turn.text, "heard": heard}, ensure_ascii=False) + "\n"


def _rounded(seconds: float | None) -> float | None:
    return None if seconds is None else round(seconds, 3)

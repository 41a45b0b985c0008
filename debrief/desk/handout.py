"""What a run leaves in its folder: tables, the transcript, captions and the debrief sheet; all of it or the forms asked for."""
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from ..errors import InputError
from ..records.sound import Recording
from ..records.talk import Turn
from ..session import Session
from ..store.sessions import Seal, SessionStore
from .captions import ctm, subrip, webvtt
from .contents import Contents, read_contents
from .formats import clocks_of, write_json_lines, write_parquet, write_workbook
from .sheet import SheetSettings, pieces
from .tables import write_tables
from .whole_files import write_pieces, write_whole

SHEET_NAME = "sheet.html"
Writer = Callable[[Contents, Path], None]


def write_run(store: SessionStore, session: Session, out: Path, recordings: Sequence[Recording]) -> None:
    """Everything people take from a run, written anew from the store: CSV beside the store, other forms in `tables/`."""
    write_all(replace(read_contents(store), session=session, recordings=recordings), out)


def write_all(contents: Contents, out: Path) -> None:
    write_forms(contents, out)
    write_sheet(contents, out / SHEET_NAME)


def write_sheet(contents: Contents, file: Path, settings: SheetSettings | None = None) -> None:
    """In pieces as they are made: neither the page nor its sound is ever whole in memory. Raises StoreError for what the disk refuses."""
    settings = replace(settings or SheetSettings(), waiting=file.parent)
    write_pieces(file, pieces(contents, contents.recordings, contents.seal, settings))  # all sound is made before the first piece


def write_forms(contents: Contents, out: Path, forms: Iterable[str] = ()) -> list[str]:
    """Tables, transcript and captions in the forms named (all when none is); returns them. Raises InputError for an unknown form."""
    wanted = list(dict.fromkeys(forms)) or list(FORMS)
    for form in wanted:
        if form not in FORMS:
            raise InputError(f"there is no form {form!r}", todo=f"forms: {', '.join(FORMS)}")
    for form in wanted:
        FORMS[form](contents, out)
    return wanted


def _csv(contents: Contents, out: Path) -> None:
    write_tables(contents.rows, out, clocks_of(contents.recordings))


def _workbook(contents: Contents, out: Path) -> None:
    about = {"title": contents.session.title, "signed": signed(contents.seal)}
    write_workbook(contents.rows, out / "tables" / "debrief.xlsx", contents.recordings, about)


FORMS: dict[str, Writer] = {
    "csv": _csv,
    "xlsx": _workbook,
    "parquet": lambda contents, out: write_parquet(contents.rows, out / "tables", contents.recordings),
    "jsonl": lambda contents, out: write_json_lines(contents.rows, out / "tables"),
    "transcript": lambda contents, out: write_whole(out / "transcript.jsonl", "".join(transcript_line(turn) for turn in contents.turns)),
    "vtt": lambda contents, out: write_whole(out / "transcript.vtt", webvtt(contents.turns, contents.session.title)),
    "srt": lambda contents, out: write_whole(out / "transcript.srt", subrip(contents.turns)),
    "ctm": lambda contents, out: write_whole(out / "transcript.ctm", ctm(contents.turns, contents.recordings)),
}
"""Form -> what writes it below a folder."""


def signed(seal: Seal | None) -> str:
    """The sign-off in a sentence."""
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

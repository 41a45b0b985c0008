"""Readouts of a few lines of talk: as a transcript gives them, or as turns made by hand."""
import json
from pathlib import Path

from debrief.harvest import harvest
from debrief.harvest.conversation import cut_turns
from debrief.harvest.talk import Talk
from debrief.hearing.saved_transcript import read_transcript
from debrief.records.rows import Row
from debrief.records.sound import Source
from debrief.records.talk import Token, Turn
from debrief.session import Session
from debrief.wording.correction import read_all


def rows_of(tmp_path: Path, *lines: tuple[str, str]) -> list[Row]:
    """Readouts of lines (speaker, text), read from a transcript."""
    path = tmp_path / "talk.jsonl"
    path.write_text("".join(json.dumps({"speaker": who, "text": text}) + "\n" for who, text in lines), encoding="utf-8")
    segments, session = list(read_transcript(path, Source("t1", 0))), Session()
    return [row for row in harvest(Talk(cut_turns(segments, read_all(segments, session), session), session)) if row.kind == "readouts"]


def talk_of(*lines: tuple[str, str], session: Session) -> Talk:
    """Talk of lines (station, text), a turn each, with nothing corrected."""
    return Talk([Turn(i, tuple(Token(w, w, f"s{i}", j) for j, w in enumerate(text.split())), who, line_index=i,
                      attribution=("named in the transcript",)) for i, (who, text) in enumerate(lines)], session)

"""Stop calls: somebody stops what is going on; their reason, and the call that lets it go on."""
import re
from collections.abc import Sequence

from ..records.rows import Field, Row
from ..records.talk import Turn
from .talk import Talk, part

_STOP = re.compile(r"\b(stop,? stop|all stop|(cease|abort|knock it off)|hold,? hold,? hold|freeze,? freeze|emergency stop)\b")
_GOES_ON = re.compile(r"\b(resume|carry on|go ahead|continue|pick up the count|restart|clear to (proceed|move)|release the hold|"
                      r"down easy|we go on|"
                      r"proceed|back on)\b")
_REACH = 40
_SAME_STOP_S = 30.0


def stop_calls(talk: Talk) -> list[Row]:
    """Rows of the table stop_calls: who stops what; an order that repeats the call at once is part of it."""
    rows: list[Row] = []
    turns = list(talk.operational())
    last = -10
    for position, turn in enumerate(turns):
        if not _STOP.search(turn.text.lower()) or "?" in turn.text or position - last <= 2:
            continue
        last = position
        rows.append(_row(turns, position))
    return rows


def _row(turns: Sequence[Turn], position: int) -> Row:
    turn = turns[position]
    evidence = [part(turn, "text")]
    fields = {"what": Field(turn.addressee or "what is going on", "carried")}
    rest = re.sub(r"^.*?\b(stop|abort|hold)\b[.,!\s]*", "", turn.text, flags=re.IGNORECASE).strip(" .")
    reason = re.split(r"(?<=[.!])\s+", turn.text)[-1].strip(" .") if "." in turn.text.rstrip(".") else rest
    if reason and not _STOP.search(reason.lower()):
        fields["reason"] = Field(reason, part=0)
    release = next((later for later in turns[position + 1:position + 1 + _REACH] if _GOES_ON.search(later.text.lower())), None)
    if release is not None:
        evidence.append(part(release, "resolution"))
        name, value = ("released_line", release.line_index) if turn.line_index is not None else ("released_s", release.start_s)
        fields[name] = Field(value, "spoken", part=1)
    return Row("stop_calls", fields, tuple(evidence), turn.loop, turn.station, turn.index, ("a stop call",))

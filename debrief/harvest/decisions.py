"""Decisions: a deviation accepted, a thing decided, by whom and in which words."""
import re

from ..records.rows import Field, Row
from .talk import Talk, part
from .view import views

_DECIDES = re.compile(r"\b((we|i|i'll|we'll|i'd) (accept|take it as|live with|waive|approve)|accepts? it|accepted as|i'm happy (with|"
                      r"to accept)|"
                      r"we (go|fly|press on) with (it|that)|(good|fine) to go as (it is|is)|use as is|we'll call it good)\b")


def decisions(talk: Talk) -> list[Row]:
    """Rows of the table decisions."""
    rows = []
    for turn in talk.operational():
        for start, end in views(talk)[turn.index].sentences:
            text = " ".join(token.text for token in turn.tokens[start:end])
            if _DECIDES.search(text.lower()) and "?" not in text:
                rows.append(Row("decisions", {"what": Field(text.rstrip("."), part=0)}, (part(turn, "text", start, end),), turn.loop,
                                turn.station, turn.index))
                break
    return rows

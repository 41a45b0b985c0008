"""Decisions: a deviation accepted, a thing decided, by whom and in which words."""
import re

from ..records.rows import Field, Row
from .talk import Talk, part
from .view import View, views

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
                rows.append(Row("decisions", {"what": Field(_what(views(talk)[turn.index], start, end), part=0)}, (part(turn, "text", start, end),), turn.loop,
                                turn.station, turn.index))
                break
    return rows


def _what(view: View, start: int, end: int) -> str:
    """The clause that decides, its numbers in figures as said ('accept 041 as fitted')."""
    clauses = [clause for clause in view.clauses if start <= clause[0] < end]
    tokens = view.turn.tokens
    first, last = next((c for c in clauses if _DECIDES.search(" ".join(t.text for t in tokens[c[0]:c[1]]).lower())), (start, end))
    said, index = [], first
    while index < last:
        number = view.numbers.get(index)
        said.append(number.text if number and number.end <= last else tokens[index].text)
        index = number.end if number and number.end <= last else index + 1
    return " ".join(said).rstrip(" .,;")

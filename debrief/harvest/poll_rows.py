"""Poll answers as rows, with the asking as evidence, the reason of a NO-GO and the condition of a GO."""
from dataclasses import dataclass

from ..records.rows import Certainty, Field, Part, Row
from ..timebase import Span
from .poll_words import Said
from .talk import Talk, part
from .view import View

_REASON_WORDS = 24


@dataclass(frozen=True, slots=True)
class Answer:
    """What one station answered. asked: turn and token of the asking; condition: its tokens; doubt: why the station is not sure."""

    said: Said
    station: str | None
    question: str
    asked: tuple[int, int] | None = None
    given_by: str | None = None
    late: bool = False
    decision: bool = False
    doubt: str = ""
    condition: tuple[int, int] | None = None


def answer_row(talk: Talk, view: View, answer: Answer) -> Row:
    """The row of an answer; its place is the answer itself."""
    turn, said = view.turn, answer.said
    parts = [part(turn, "answer", said.start, said.end)]
    fields = {
        "station": _station(answer),
        "answer": Field(said.reply, certainty="clear" if said.sure else "doubtful", part=0,
                        why=() if said.sure else (f"heard as '{view.words[said.start]}'",)),
        "question": Field(answer.question or None, "spoken" if answer.question else "carried"),
    }
    if answer.asked:
        asked = talk.turns[answer.asked[0]]
        parts.append(part(asked, "question", answer.asked[1], answer.asked[1] + 2))
    reason = _reason(view, said)
    if reason:
        parts.append(part(turn, "text", *reason))
        fields["reason"] = Field(_text(view, reason), part=len(parts) - 1)
    if answer.condition:
        parts.append(part(turn, "condition", *answer.condition))
        fields["condition"] = Field(_text(view, answer.condition), part=len(parts) - 1)
    if answer.given_by:
        fields["given_by"] = Field(answer.given_by, why=("answered for the station",))
    for name in ("late", "decision"):
        if getattr(answer, name):
            fields[name] = Field(True, "carried")
    elsewhere = answer.asked is not None and bool(answer.doubt) and turn.station not in (None, answer.station)
    loop = talk.turns[answer.asked[0]].loop if answer.asked and elsewhere else turn.loop
    return Row("polls", fields, tuple(parts), loop, answer.station, turn.index)


def _station(answer: Answer) -> Field:
    certainty: Certainty = "doubtful" if answer.doubt else "clear"
    return Field(answer.station, "carried" if answer.doubt else "spoken", certainty, 0, (answer.doubt,) if answer.doubt else ())


def _reason(view: View, said: Said) -> tuple[int, int] | None:
    """What follows a NO-GO or STAND BY in its turn."""
    if said.reply == "GO" or said.end >= len(view.words):
        return None
    stop = min(len(view.words), said.end + _REASON_WORDS)
    return (said.end, stop) if stop - said.end > 1 else None


def _text(view: View, place: tuple[int, int]) -> str:
    return " ".join(token.text for token in view.turn.tokens[slice(*place)]).strip(" .,")


def unanswered_row(talk: Talk, question: str, station: str, asked: tuple[int, int], decided: int | None) -> Row:
    """The row of a station that was asked and never answered; the stretch that was searched is part of the evidence."""
    turn = talk.turns[asked[0]]
    last = talk.turns[decided] if decided is not None else turn
    span = Span(turn.span.start, max(turn.span.end, last.span.end)) if turn.span and last.span else None
    searched = Part("searched and absent", f"no answer of {station}", source=turn.source, span=span, line_index=turn.line_index,
                    start_s=turn.start_s)
    fields = {"station": Field(station, part=0), "answer": Field("none", "assumed", part=1, why=("asked, and no answer was heard",)),
              "question": Field(question or None)}
    return Row("polls", fields, (part(turn, "question", asked[1], asked[1] + 2), searched), turn.loop, station, turn.index)

"""Rows of planned steps: begun, done, left out, done again."""
from ..records.rows import Field, Row
from .progress import StepEvent, progress
from .talk import Talk, part


def steps(talk: Talk) -> list[Row]:
    """A row for each event of a step, in order. Claims the numbers of the ids, which are names and no values."""
    found = progress(talk)
    for turn, start, end in found.named:
        talk.claim(talk.turns[turn], start, end, "steps")
    return [_row(talk, event) for event in found.events]


def _row(talk: Talk, event: StepEvent) -> Row:
    turn = talk.turns[event.turn]
    spoken = not event.certain or "words" in event.why or "mark" in event.why
    grounds = (event.why,)
    fields = {
        "card": Field(event.card, "plan" if spoken else "spoken", part=0, why=grounds),
        "step": Field(event.step, "plan" if spoken else "spoken", "clear" if event.certain else "doubtful", 0, grounds),
        "event": Field(event.event, part=0, why=grounds),
    }
    return Row("steps", fields, (part(turn, "text", event.start, event.end),), turn.loop, turn.station, turn.index)

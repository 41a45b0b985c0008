"""What the talk was read as: turns with their tokens, the questions put to the sound and its answers."""
import json
from collections.abc import Sequence
from typing import Any

from ..records.questions import Answer, Question
from ..records.sound import Source
from ..records.talk import Token, Turn
from ..timebase import Span
from .codec import as_we_write, dumps, finite, source_columns, source_of, span_of
from .database import Database


def save_turns(db: Database, pass_number: int, turns: Sequence[Turn]) -> None:
    """The turns of a pass; saved again, they are replaced."""
    with db.writing():
        db.run("DELETE FROM turns WHERE pass = ?", (pass_number,))
        db.insert("turns", [_turn_columns(pass_number, turn) for turn in turns])
        db.insert("tokens", [_token_columns(pass_number, turn.index, position, token)
                             for turn in turns for position, token in enumerate(turn.tokens)])


def _turn_columns(pass_number: int, turn: Turn) -> dict[str, Any]:
    return {"pass": pass_number, "turn": turn.index, "station": turn.station, "addressee": turn.addressee, "loop": turn.loop,
            "start_s": turn.start_s, "end_s": turn.end_s, "line_index": turn.line_index,
            **source_columns(turn.source, turn.span), "commentary": int(turn.commentary), "attribution": dumps(turn.attribution),
            "answers": turn.answers, "set_aside": turn.set_aside}


def _token_columns(pass_number: int, turn: int, position: int, token: Token) -> dict[str, Any]:
    return {"pass": pass_number, "turn": turn, "position": position, "text": token.text, "heard": token.heard,
            "segment": token.segment, "word": token.word, "start": token.span.start if token.span else None,
            "end": token.span.end if token.span else None, "probability": token.probability, "why": token.why}


@as_we_write
def turns(db: Database, pass_number: int, first: int = 0, count: int = -1) -> list[Turn]:
    """Turns of a pass in conversation order; first and count page through them (count < 0: all)."""
    found = db.all("SELECT * FROM turns WHERE pass = ? AND turn >= ? ORDER BY turn LIMIT ?", (pass_number, first, count))
    if not found:
        return []
    tokens: dict[int, list[Token]] = {}
    for row in db.all("SELECT * FROM tokens WHERE pass = ? AND turn BETWEEN ? AND ? ORDER BY turn, position",
                      (pass_number, first, found[-1]["turn"])):
        tokens.setdefault(row["turn"], []).append(Token(row["text"], row["heard"], row["segment"], row["word"], span_of(row),
                                                        row["probability"], row["why"]))
    return [_turn(row, tuple(tokens.get(row["turn"], ()))) for row in found]


_WORDS = ("(SELECT group_concat({what}, ' ') FROM (SELECT text, nullif(heard, '') AS heard FROM tokens "
          "WHERE pass = t.pass AND turn = t.turn ORDER BY position)) AS {name}")
_PLAIN = f"SELECT t.*, {_WORDS.format(what='text', name='said')}, {_WORDS.format(what='heard', name='heard')} FROM turns AS t"


def plain_turns(db: Database, pass_number: int, first: int, count: int) -> list[Any]:
    """Turns without their tokens: the columns of turns, `said` (the words as read) and `heard`; far quicker than turns()."""
    return db.all(f"{_PLAIN} WHERE pass = ? AND turn >= ? ORDER BY turn LIMIT ?", (pass_number, first, count))


def _turn(row: Any, tokens: tuple[Token, ...]) -> Turn:
    return Turn(row["turn"], tokens, row["station"], row["addressee"], row["loop"], finite(row["start_s"]), finite(row["end_s"]),
                row["line_index"], source_of(row), span_of(row), bool(row["commentary"]), tuple(json.loads(row["attribution"])),
                row["answers"], row["set_aside"])


def save_questions(db: Database, pass_number: int, questions: Sequence[Question], answers: Sequence[Answer] = ()) -> None:
    """The questions of a pass and what the sound answered; saved again, they are replaced."""
    with db.writing():
        db.run("DELETE FROM questions WHERE pass = ?", (pass_number,))
        db.insert("questions", [{
            "pass": pass_number, "position": position, "question": item.question, **source_columns(item.source, item.span),
            "kind": item.kind, "candidates": dumps(item.candidates), "values": dumps(item.values), "heard": item.heard,
            "asked_by": item.asked_by} for position, item in enumerate(questions)])
        save_answers(db, pass_number, answers)


def save_answers(db: Database, pass_number: int, answers: Sequence[Answer]) -> None:
    """Adds answers one by one or many at once; an answer given again replaces the first."""
    with db.writing():
        db.insert("answers", [{"pass": pass_number, "question": item.question, "scores": dumps(item.scores),
                               "free": item.free, "best": item.best, "margin": item.margin} for item in answers],
                  replacing=True)


@as_we_write
def questions(db: Database, pass_number: int) -> list[Question]:
    return [Question(row["question"], Source(row["recording"], row["channel"]), Span(row["start"], row["end"]), row["kind"],
                     tuple(json.loads(row["candidates"])), tuple(json.loads(row["values"])), row["heard"], row["asked_by"])
            for row in db.all("SELECT * FROM questions WHERE pass = ? ORDER BY position", (pass_number,))]


@as_we_write
def answers(db: Database, pass_number: int) -> list[Answer]:
    found = db.all("SELECT answers.* FROM answers JOIN questions USING (pass, question) WHERE pass = ? ORDER BY position",
                   (pass_number,))
    return [Answer(row["question"], tuple(json.loads(row["scores"])), row["free"], row["best"], row["margin"]) for row in found]

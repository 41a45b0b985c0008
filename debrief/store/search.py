"""Finding rows and turns by words: words, "phrases", beginnings (pump*), near ones (pump NEAR leak), and filters.

The text of a query is never handed to SQLite as a query: it is read here and every word is quoted, so that nothing in it is an operator
but the star at a word's end and NEAR between two words.
"""
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product

from ..errors import InputError
from ..records.rows import Row
from ..records.talk import Turn
from . import readings
from .codec import row_in
from .database import Database

NEAR_WORDS = 8
_PIECE = re.compile(r'"([^"]*)"|(\S+)')
_WORD = re.compile(r"\w+")


@dataclass(frozen=True, slots=True)
class RowFilter:
    """Which rows: empty means all. value_low, value_high: inclusive; from_s, to_s: session seconds; words: see above."""

    words: str = ""
    kinds: tuple[str, ...] = ()
    stations: tuple[str, ...] = ()
    loops: tuple[str, ...] = ()
    certainties: tuple[str, ...] = ()
    value_low: float | None = None
    value_high: float | None = None
    from_s: float | None = None
    to_s: float | None = None


Alikes = Callable[[str], Sequence[str]]
"""Other words to look for beside a word or phrase, such as those that sound like it."""


def _no_alikes(_text: str) -> Sequence[str]:
    return ()


def as_match(words: str, alikes: Alikes = _no_alikes) -> str:
    """A person's words as a full-text query. InputError when no word is in them."""
    found = [_choices(phrase or word, alikes, star=not phrase and word.endswith("*")) if phrase or word != "NEAR" else ["NEAR"]
             for phrase, word in _PIECE.findall(words)]
    pieces = [piece for piece in found if piece]
    made: list[list[str]] = []
    while pieces:
        piece = pieces.pop(0)
        if piece == ["NEAR"]:
            near = pieces and pieces[0] != ["NEAR"] and made
            piece = [f"NEAR({a} {b}, {NEAR_WORDS})" for a, b in product(made.pop(), pieces.pop(0))] if near else ['"near"']
        made.append(piece)
    if not made:
        raise InputError(f"there is no word to search for in {words!r}", todo='words, "a phrase", begin*, or one NEAR another')
    return " AND ".join(piece[0] if len(piece) == 1 else f"({' OR '.join(piece)})" for piece in made)


def _choices(text: str, alikes: Alikes, *, star: bool) -> list[str]:
    texts = [text, *([] if star else alikes(text))]
    return list(dict.fromkeys(quoted for item in texts if (quoted := _quoted(item, star=star))))


def _quoted(text: str, *, star: bool) -> str:
    words = _WORD.findall(text)
    return f'"{" ".join(words)}"{"*" if star else ""}' if words else ""


def find_rows(db: Database, wanted: RowFilter, limit: int = 100, offset: int = 0) -> tuple[int, list[Row]]:
    """How many standing rows fit, and one page of them in the order of time."""
    where, values = _conditions(wanted)
    counted = db.one(f"SELECT count(*) AS n FROM current WHERE {where}", values)
    found = db.all(f'SELECT "row" FROM current WHERE {where} ORDER BY start_s, line_index, number LIMIT ? OFFSET ?', (*values, limit, offset))
    return counted["n"] if counted else 0, [row_in(item["row"]) for item in found]


def _conditions(wanted: RowFilter) -> tuple[str, list[object]]:
    parts, values = ["state = 'standing'"], list[object]()
    for column, allowed in (("kind", wanted.kinds), ("station", wanted.stations), ("loop", wanted.loops),
                            ("certainty", wanted.certainties)):
        if allowed:
            parts.append(f"{column} IN ({', '.join('?' * len(allowed))})")
            values += allowed
    for condition, bound in (("value >= ?", wanted.value_low), ("value <= ?", wanted.value_high), ("start_s >= ?", wanted.from_s),
                             ("start_s <= ?", wanted.to_s)):
        if bound is not None:
            parts.append(condition)
            values.append(bound)
    if wanted.words.strip():
        parts.append("number IN (SELECT rowid FROM row_words WHERE row_words MATCH ?)")
        values.append(as_match(wanted.words))
    return " AND ".join(parts), values


def find_turns(db: Database, pass_number: int, words: str, limit: int = 100) -> list[Turn]:
    """Turns of the last saved reading that hold the words, as heard or as read, in conversation order."""
    found = db.all("SELECT rowid FROM turn_words WHERE turn_words MATCH ? ORDER BY rowid LIMIT ?", (as_match(words), limit))
    return [turn for item in found for turn in readings.turns(db, pass_number, item["rowid"], 1) if turn.index == item["rowid"]]


# the index


def index_rows(db: Database, rows: Sequence[Row]) -> None:
    """Inside a transaction: the words of these rows, replacing what was there."""
    db.run_many("DELETE FROM row_words WHERE rowid = ?", [(row.number,) for row in rows])
    db.run_many("INSERT INTO row_words (rowid, text) VALUES (?, ?)", [(row.number, words_of(row)) for row in rows])


def words_of(row: Row) -> str:
    said = [str(item.value) for item in row.fields.values() if item.value not in (None, "") and not isinstance(item.value, bool)]
    return " ".join([row.kind, row.station or "", row.loop or "", *said, *(part.text for part in row.evidence)])


def index_turns(db: Database, turns: Sequence[Turn]) -> None:
    """Inside a transaction: the words of all turns, as heard and as read; the turns indexed before are dropped."""
    db.run("DELETE FROM turn_words")
    db.run_many("INSERT INTO turn_words (rowid, text) VALUES (?, ?)",
                [(turn.index, " ".join([turn.text, *(t.heard for t in turn.tokens if t.heard != t.text)])) for turn in turns])


def reindex(db: Database, pass_number: int | None) -> None:
    """Both indexes anew from the store, for a store of an older version or after erasing."""
    with db.writing():
        db.run("DELETE FROM row_words")
        index_rows(db, [row_in(item["row"]) for item in db.all('SELECT "row" FROM current')])
        index_turns(db, readings.turns(db, pass_number) if pass_number is not None else [])
        db.run("INSERT INTO row_words (row_words) VALUES ('rebuild')")
        db.run("INSERT INTO turn_words (turn_words) VALUES ('rebuild')")

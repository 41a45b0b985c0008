"""What of a store speaks of parameters tagged medical: rows by number, talk and its sound by place.

Where one is named in a turn, the whole turn is taken, the turn that answers it, and the next one on its loop; all turns behind a row
that names one; and copies of all these on other loops. So more goes than must; what a recogniser did not hear as the name stays.
"""
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..records.rows import Row
from ..records.sound import Segment, Source
from ..records.talk import Turn
from ..timebase import Span
from . import edits
from .database import Database
from .sessions import SessionStore

ANSWER_S = 20.0
"""A turn on the same loop that begins this soon after a medical one may hold its value."""
_WORD = re.compile(r"[^\W_]+")
Place = tuple[Source, Span]


@dataclass(frozen=True, slots=True)
class Found:
    """numbers: rows; places: talk and sound; of all passes."""

    numbers: tuple[int, ...]
    places: tuple[Place, ...]


class Names:
    """Finds the names of parameters in text, whatever their case, plural or spaces ('heart rate', 'Heartrates')."""

    def __init__(self, names: Collection[str]) -> None:
        split = [[_plain(word) for word in _WORD.findall(name)] for name in names]
        self._longest = max((len(words) for words in split), default=0) + 1
        self._known = {"".join(words) for words in split if words}

    def within(self, text: str) -> bool:
        words = [_plain(word) for word in _WORD.findall(text)]
        return any("".join(words[first:first + size]) in self._known
                   for size in range(1, self._longest + 1) for first in range(len(words) - size + 1))


def _plain(word: str) -> str:
    return word.casefold().removesuffix("s")


def find_medical(store: SessionStore, names: Names) -> Found:
    """Everything that speaks of these names, in every pass and every edit."""
    numbers, places = set[int](), set[Place]()
    standing = [item.row for item in edits.all_standing(store.db, rejected=True)]
    for made in store.passes():
        turns, rows = store.turns(made.number), [*store.machine_rows(made.number), *standing]
        told = [row for row in rows if names.within(_all_of(row))]
        numbers |= {row.number for row in told if row.number is not None}
        spoken = {turn.index for turn in turns if names.within(_both(turn))} | set(_behind(told, turns))
        taken = _with_answers(spoken, turns)
        places |= {(turn.source, turn.span) for turn in (*taken, *_copies_of(taken, turns)) if turn.source and turn.span}
        places |= {(part.source, part.span) for row in told for part in row.evidence
                   if part.source and part.span and part.role != "searched and absent"}
        places |= set(_aside(store.segments(made.number), names))
    return Found(tuple(sorted(numbers)), tuple(sorted(places)))


def _all_of(row: Row) -> str:
    return " | ".join([*(str(item.value) for item in row.fields.values()), *(part.text for part in row.evidence), *row.look, *row.doubt])


def _both(turn: Turn) -> str:
    return f"{turn.text} | {' '.join(token.heard for token in turn.tokens)}"


def _behind(rows: Iterable[Row], turns: Sequence[Turn]) -> Iterator[int]:
    """Turns that hold evidence of the rows."""
    parts = [(part.source, part.span) for row in rows for part in row.evidence if part.span is not None and part.role != "searched and absent"]
    for turn in turns:
        if turn.span is not None and any(source == turn.source and span.overlap(turn.span) for source, span in parts):
            yield turn.index


def _with_answers(spoken: set[int], turns: Sequence[Turn]) -> list[Turn]:
    taken = [turn for turn in turns if turn.index in spoken or turn.answers in spoken]
    for loop in {turn.loop for turn in turns}:
        own = [turn for turn in turns if turn.loop == loop]
        taken += [after for turn, after in pairwise(own) if turn.index in spoken and _soon(turn, after)]
    return taken


def _soon(turn: Turn, after: Turn) -> bool:
    return after.start_s is None or turn.end_s is None or after.start_s - turn.end_s <= ANSWER_S


def _copies_of(taken: Sequence[Turn], turns: Sequence[Turn]) -> Iterator[Turn]:
    """Turns set aside (copies heard on other loops) that sound at the same time."""
    for turn in turns:
        if turn.set_aside and any(_meet(turn, other) for other in taken):
            yield turn


def _meet(one: Turn, other: Turn) -> bool:
    if one.start_s is None or other.start_s is None:
        return False
    return one.start_s <= (other.end_s or other.start_s) + 1 and other.start_s <= (one.end_s or one.start_s) + 1


def _aside(segments: Iterable[Segment], names: Names) -> Iterator[Place]:
    """Talk that made no turn, such as a second hearing."""
    for segment in segments:
        if segment.source and segment.span and names.within(segment.text):
            yield segment.source, segment.span


def drop_mentions(db: Database, names: Names) -> None:
    """Deletes findings and questions that name a medical parameter without a row or a place of their own."""
    with db.writing():
        for table, key, columns in (("check_results", "position", ("says",)), ("listening", "position", ("part", "why")),
                                    ("questions", "question", ("heard", "candidates", "asked_by"))):
            for item in db.all(f"SELECT * FROM {table}"):
                if names.within(" | ".join(item[column] for column in columns)):
                    db.run(f"DELETE FROM {table} WHERE pass = ? AND {key} = ?", (item["pass"], item[key]))

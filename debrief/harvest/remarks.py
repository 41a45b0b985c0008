"""Remarks: the words behind a rating, in the turn that gives it ('jolt, a six, it went into my neck').

A remark runs from behind the value to the next thing rated or the end of the turn. Hedges, the scale and 'from me' are no remark.
"""
from collections.abc import Sequence

from ..records.rows import Field, Row
from ..wording.english import is_function_word
from .progress import progress
from .rating_axes import AxisBook
from .ratings import given_ratings
from .talk import Talk, part
from .view import View, once, views

LEAST_WORDS, MOST_WORDS = 3, 24
_NO_REMARK = frozenset("maybe perhaps probably or more like call say a an out of ten five from me for both too point points make that actually and "
                       "um uh hm no yes please over".split())
_CONDITIONS = frozenset("with without left right first second at in".split())
"""Words that tell under what conditions the rating holds; those stand in its conditions."""


def remarks(talk: Talk) -> list[Row]:
    """A row for each rating that is followed by words of its rater."""
    book = once(talk, "_axis book", lambda given: AxisBook.of(given.session))
    return [row for rating in given_ratings(talk) if (row := _remark(talk, book, rating)) is not None]


def _remark(talk: Talk, book: AxisBook, rating: Row) -> Row | None:
    view = views(talk)[rating.turn or 0]
    value = rating.place
    if value.last_word is None or value.segment is None:
        return None
    at = next((i for i, token in enumerate(view.turn.tokens) if (token.segment, token.word) == (value.segment, value.last_word)), None)
    if at is None:
        return None
    start, stop = _bounds(talk, book, view, at + 1)
    said = [word for word in view.words[start:stop] if word not in _NO_REMARK]
    if view.words[start:start + 1] and view.words[start] in _CONDITIONS or {"complete", "completed"} & set(said):
        return None
    if stop - start < LEAST_WORDS or len(said) < LEAST_WORDS - 1 or all(map(is_function_word, said)) or view.asks(start, stop):
        return None
    evidence = (part(view.turn, "text", start, stop), part(view.turn, "value", at, at + 1))
    fields = {"about": Field(rating.get("axis"), "carried"), "text": Field(evidence[0].text.strip(" .,;"), part=0),
              "subject": Field(rating.get("subject"), "carried")}
    return Row("remarks", fields, evidence, view.turn.loop, view.turn.station, view.turn.index)


def _bounds(talk: Talk, book: AxisBook, view: View, at: int) -> tuple[int, int]:
    """From the first word of the remark to behind its last."""
    mentions = book.find(view, progress(talk).at(view.turn.index).card)
    rated = [i for i in range(at, len(view.words)) if talk.claims.get((view.turn.index, i)) == "ratings"]
    start = _behind_hedges(view, at, rated)
    ends = [view.clause(m.start)[0] for m in mentions if m.start >= start] + [view.clause(i)[0] for i in rated if i >= start]
    return start, min([*ends, start + MOST_WORDS, len(view.words)])


def _behind_hedges(view: View, at: int, rated: Sequence[int]) -> int:
    """Past what still belongs to the value: 'maybe a three', 'out of ten', 'from me'."""
    while at < len(view.words) and (view.words[at] in _NO_REMARK or at in rated):
        at += 1
    return at

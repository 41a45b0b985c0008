"""Questions that harvest asks the sound, and the answers of weighing."""
from dataclasses import dataclass

from ..timebase import Span
from .sound import Source


@dataclass(frozen=True, slots=True)
class Question:
    """What was said in this span? candidates are whole texts; 'none of these' is always allowed.

    kind: what hangs on it ('readouts', 'polls', ...); asked_by: the rule that asks, in words; heard: the free hypothesis.
    values: for each candidate the value it states ('' = none), so that a margin to the best *other value* can be told.
    """

    question: str
    source: Source
    span: Span
    kind: str
    candidates: tuple[str, ...]
    values: tuple[str, ...]
    heard: str
    asked_by: str


@dataclass(frozen=True, slots=True)
class Answer:
    """scores: log probabilities, one a candidate, fair between values inside one wording; free: the same of what free hearing wrote.

    best: index of the accepted candidate, None for 'none of these'; margin: to the best candidate with another value.
    """

    question: str
    scores: tuple[float, ...]
    free: float
    best: int | None
    margin: float

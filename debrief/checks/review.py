"""What every check reads, and the form in which it answers.

A check is one small function: Review -> Findings. It never edits in place: it hands back changed rows by position, new rows, and
results whose `rows` are positions in the review (the pipeline turns them into row numbers once the store has given them).
"""
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ..harvest.talk import Talk
from ..records.findings import CheckResult
from ..records.rows import Row
from ..records.sound import Stretch
from ..timebase import RecordingClock


@dataclass(frozen=True, slots=True)
class Review:
    """rows in order of place; stretches: what became of every second (none for a saved transcript); sound: is there any."""

    rows: Sequence[Row]
    talk: Talk
    stretches: Sequence[Stretch] = ()
    clocks: Mapping[str, RecordingClock] = field(default_factory=dict)
    sound: bool = False
    reference: Sequence[Row] = ()

    def of(self, *kinds: str) -> Iterator[tuple[int, Row]]:
        """Positions and rows of these kinds."""
        return ((i, row) for i, row in enumerate(self.rows) if row.kind in kinds)


@dataclass(frozen=True, slots=True)
class Findings:
    changed: Mapping[int, Row] = field(default_factory=dict)
    added: Sequence[Row] = ()
    results: Sequence[CheckResult] = ()


@dataclass(frozen=True, slots=True)
class Check:
    """name: what the session file switches off; reads, says: one line each, for the table people read."""

    name: str
    reads: str
    says: str
    run: Callable[[Review], Findings]


def look(row: Row, why: str) -> Row:
    """The row with one more reason to look, once."""
    return row if why in row.look else replace(row, look=(*row.look, why))


def noted(review: Review, position: int, check: str, says: str, *others: int, serious: bool = False) -> CheckResult:
    """A result about the row at a position (and others beside it), with the sound to hear."""
    rows = (position, *others)
    return CheckResult(check, says, rows, tuple(review.rows[i].place for i in rows), serious)


class Told:
    """Gathers what a check says of rows: each gets its reason to look beside those it has, and a result with its sound."""

    def __init__(self, review: Review, check: str) -> None:
        self._review, self._check = review, check
        self._changed: dict[int, Row] = {}
        self._results: list[CheckResult] = []

    def row(self, position: int, about: str, why: str, *others: int, serious: bool = False) -> None:
        """why: the reason to look at the row and the others; about: what the result names before it."""
        for place in (position, *others):
            self._changed[place] = look(self._changed.get(place, self._review.rows[place]), why)
        self._results.append(noted(self._review, position, self._check, f"{about}: {why}", *others, serious=serious))

    def findings(self, added: Sequence[Row] = ()) -> Findings:
        return Findings(self._changed, added, self._results)


def run_checks(review: Review, checks: Sequence[Check], off: Sequence[str] = ()) -> tuple[Review, list[CheckResult]]:
    """Run checks in order, each over what those before it left; those named in `off` are left out."""
    results: list[CheckResult] = []
    for check in checks:
        if check.name in off:
            continue
        found = check.run(review)
        rows = [found.changed.get(i, row) for i, row in enumerate(review.rows)] + list(found.added)
        review = replace(review, rows=rows)
        results += found.results
    return review, results

"""Questions for the crew: what the talk left open, of whom to ask it, and the sound to play when asking."""
from collections.abc import Callable, Iterator

from ..records.findings import CheckResult
from ..records.rows import Row
from .review import Findings, Review, noted

NAME = "ask the crew"
NEVER_SAID = ("", "not asked", "asked, no answer")


def crew_questions(review: Review) -> Findings:
    """One question for each thing left open, as results; rows stay as they are."""
    return Findings(results=list(_ask(review)))


def _ask(review: Review) -> Iterator[CheckResult]:
    for position, row in enumerate(review.rows):
        asker = ASKERS.get(row.kind)
        says = asker(row) if asker else None
        if says:
            yield noted(review, position, NAME, says)


def _open_item(row: Row) -> str | None:
    closed = row.get("closed_line") is not None or row.get("closed_s") is not None
    return None if closed else f"{row.get('owner') or 'All'}: is this done: {row.get('what')}?"


def _anomaly(row: Row) -> str | None:
    resolved = row.get("resolved_line") is not None or row.get("resolved_s") is not None
    return None if resolved else f"{row.station or 'All'}: what became of this: {row.get('what')}?"


def _read_back(row: Row) -> str | None:
    if row.get("match") is not False or row.get("corrected"):
        return None
    said, back = row.get("said"), row.get("readback")
    return f"{row.station or 'All'}: was it {said} or {back}?" if said and back else f"All: which value stands: {row.place.text}?"


def _missing_answer(row: Row) -> str | None:
    return f"{row.get('station')}: what was your answer to {row.get('question')}?" if row.get("answer") == "none" else None


def _never_said(row: Row) -> str | None:
    if row.get("state") not in NEVER_SAID or row.get("item") != "rating":
        return None
    return f"{row.get('subject') or 'All'}: your rating of {row.get('what')} on card {row.get('card')}?"


ASKERS: dict[str, Callable[[Row], str | None]] = {
    "open_items": _open_item, "anomalies": _anomaly, "readbacks": _read_back, "polls": _missing_answer, "coverage": _never_said,
}

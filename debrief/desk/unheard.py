"""How much of a session no person has heard: what somebody is told before they sign it."""
from dataclasses import dataclass

from ..store import edits
from ..store.sessions import SessionStore
from .page.index import HEARD, Index


@dataclass(frozen=True, slots=True)
class Unheard:
    """rows: those that stand and that no person has heard; doubtful: how many of them; says: the counts in a sentence."""

    rows: int
    doubtful: int
    says: str


def unheard(store: SessionStore) -> Unheard:
    """Counts of the session as it stands now."""
    index = Index(store)
    index.refresh()
    counts = index.counts()
    left = [item.row for item in edits.all_standing(store.db) if item.row.certainty != HEARD]
    doubtful = sum(row.certainty == "doubtful" for row in left)
    places = f" Of {counts['places']} places without a row, {counts['places_heard']} were heard." if counts["places"] else ""
    return Unheard(len(left), doubtful, f"{counts['rows']} rows: {counts['heard']} heard by a person, {len(left)} not, of which {doubtful} are doubtful.{places}")

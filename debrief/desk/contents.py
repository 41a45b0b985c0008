"""All that a store holds of a session as it stands, read once: what tables, sheet, lists and comparisons are made from."""
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from ..records.findings import CheckResult, ListeningItem
from ..records.rows import Row
from ..records.sound import Recording
from ..records.talk import Turn
from ..session import Session, find_recording
from ..store.opening import as_written
from ..store.sessions import Seal, SessionStore


@dataclass(frozen=True)
class Contents:
    """rows: as they stand, people's words over the machine's; session: the session file of the pass that stands."""

    rows: Sequence[Row]
    session: Session = field(default_factory=Session)
    checks: Sequence[CheckResult] = ()
    listening: Sequence[ListeningItem] = ()
    recordings: Sequence[Recording] = ()
    turns: Sequence[Turn] = ()
    seal: Seal | None = None

    def of(self, *kinds: str) -> list[Row]:
        return [row for row in self.rows if row.kind in kinds]

    def numbered(self) -> dict[int, Row]:
        return {row.number: row for row in self.rows if row.number is not None}


def read_contents(store: SessionStore, folder: Path | None = None) -> Contents:
    """What stands now. folder: where recordings are looked for by name when they are not where they were heard. Raises StoreError."""
    with as_written(store.db.path):
        return _contents(store, folder)


def _contents(store: SessionStore, folder: Path | None) -> Contents:
    accepted = store.accepted_pass()
    made = Contents(store.rows(), session_of(store), recordings=[_found_again(item, folder) for item in store.recordings()],
                    seal=store.seal())
    if accepted is None:
        return made
    return replace(made, checks=store.checks(accepted), listening=store.listening(accepted), turns=store.turns(accepted))


def session_of(store: SessionStore, pass_number: int | None = None) -> Session:
    """The session file as a pass read it (the one that stands when none is named); only its title where the pass kept none."""
    wanted = store.accepted_pass() if pass_number is None else pass_number
    made = next((item for item in store.passes() if item.number == wanted), None)
    if made is None or "session" not in made.settings:
        return Session(title=store.noted("title") or "")
    return Session.model_validate_json(made.settings["session"])


def _found_again(recording: Recording, folder: Path | None) -> Recording:
    path = Path(recording.path)
    if folder is None or path.is_file():
        return recording
    found = find_recording(path.name, path.parent, folder)
    return recording if found is None else replace(recording, path=str(found.resolve()))

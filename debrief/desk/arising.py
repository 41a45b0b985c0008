"""What a readout that a person changed gives rise to: a row of exceedances for each limit of the session that the value as heard is beyond."""
from collections.abc import Iterator, Mapping

from ..checks.limits import NAME, beyond_limits, card_of
from ..harvest.talk import Talk
from ..records.rows import FieldValue, Row
from ..store import edits
from ..store.following import heard
from ..store.sessions import SessionStore
from .contents import session_of


class Arising:
    """Judges changed rows against the limits of the pass that stands. The talk is read only where a limit holds for one card, and once."""

    def __init__(self, store: SessionStore) -> None:
        self._store = store
        self._pass: int | None = None
        self._talk = Talk(())
        self._read = False

    def change(self, seen: tuple[int, int], values: Mapping[str, FieldValue], who: str, note: str = "") -> Row:
        """Sets fields of a row (number, revision), with what that gives rise to, as one deed; see edits.change."""
        with self._store.db.writing():
            became = edits.change(self._store.db, *seen, values, who, note)
            edits.add_with(self._store.db, seen[0], self._beyond(became))
        return became

    def _beyond(self, row: Row) -> Iterator[Row]:
        accepted = self._store.accepted_pass()
        if self._pass != accepted:
            self._pass, self._talk, self._read = accepted, Talk((), session_of(self._store, accepted)), False
        if row.kind == "readouts" and NAME not in self._talk.session.checks_off:
            for why, found in beyond_limits(row, self._talk.session, lambda: self._card(row)):
                yield heard(Row(found.kind, found.fields, found.evidence, found.loop, found.station, found.turn, look=(why,)))

    def _card(self, row: Row) -> str | None:
        if not self._read and self._pass is not None:
            self._talk, self._read = Talk(self._store.turns(self._pass), self._talk.session), True
        return card_of(self._talk, row)

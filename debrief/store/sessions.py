"""The store of one session: passes, what was heard and read, rows with their permanent numbers, edits, checks, and sign-off."""
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from ..errors import InputError
from ..records.findings import CheckResult, ListeningItem
from ..records.passes import Pass
from ..records.questions import Answer, Question
from ..records.rows import Row
from ..records.sound import Recording, Segment, Source, Stretch
from ..records.talk import Turn
from ..timebase import Span
from . import edits, hearings, readings, rowsets, search
from .codec import as_we_write, dumps
from .database import Database
from .erase import erased_places
from .matching import match, says


@dataclass(frozen=True, slots=True)
class Seal:
    """A sign-off: by whom, when, how many rows a person had heard and how many not; broken: edited since."""

    who: str
    at_utc: str
    heard: int
    not_heard: int
    broken: bool


@dataclass(frozen=True, slots=True)
class Difference:
    """Rows of a pass against those of another: only in the new one, only in the old one, or saying something else.

    sureness: rows that say the same and are surer or less sure; edited: numbers of the rows that people have decided, whatever a pass finds.
    """

    new: tuple[Row, ...]
    gone: tuple[Row, ...]
    changed: tuple[tuple[Row, Row], ...]
    edited: frozenset[int] = frozenset()
    sureness: tuple[tuple[Row, Row], ...] = ()


class SessionStore:
    """Opened by `create` or `open`; a context manager. One process may write rows while others read and edit."""

    def __init__(self, db: Database) -> None:
        self.db = db

    @classmethod
    def create(cls, path: Path) -> Self:
        return cls(Database.create(path))

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Self:
        store = cls(Database.open(path, read_only=read_only))
        if not read_only:
            store._index_if_new()
        return store

    def _index_if_new(self) -> None:
        """A store of a version without search has rows and no words."""
        if self.db.one("SELECT 1 FROM current LIMIT 1") and not self.db.one("SELECT 1 FROM row_words LIMIT 1"):
            search.reindex(self.db, self.accepted_pass())

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        self.db.close()

    # what the session is about

    def note(self, key: str, value: str) -> None:
        with self.db.writing():
            self.db.run("INSERT OR REPLACE INTO meta VALUES (?, ?)", (key, value))

    def noted(self, key: str) -> str | None:
        found = self.db.one("SELECT value FROM meta WHERE key = ?", (key,))
        return None if found is None else found["value"]

    def add_recording(self, item: Recording) -> None:
        with self.db.writing():
            hearings.save_recording(self.db, item)

    def add_recordings(self, items: Sequence[Recording]) -> list[Recording]:
        """Adds the recordings of a run or brings them up to date; returns each under the id by which the store knows its sound."""
        known: list[Recording] = []
        with self.db.writing():
            for item in items:
                known.append(replace(item, recording=hearings.id_for(self.db, item, {other.recording for other in known})))
                hearings.save_recording(self.db, known[-1])
        return known

    def erased(self) -> list[tuple[Source, Span]]:
        """Sound that was erased and must not be heard again."""
        return erased_places(self.db)

    def recordings(self) -> list[Recording]:
        return hearings.recordings(self.db)

    # passes

    def begin_pass(self, settings: Mapping[str, str], versions: Mapping[str, str], digests: Mapping[str, str],
                   heard_in: int | None = None) -> Pass:
        """A new pass, or the unfinished one with the same settings, versions and digests, which then goes on.

        heard_in: an earlier pass, whose windows this one reads again instead of hearing them.
        """
        given = (dumps(dict(sorted(settings.items()))), dumps(dict(sorted(versions.items()))), dumps(dict(sorted(digests.items()))))
        with self.db.writing():
            found = self.db.one("SELECT * FROM passes WHERE finished_utc IS NULL AND settings = ? AND versions = ? AND digests = ? "
                                "AND heard_in = coalesce(?, pass) ORDER BY pass DESC LIMIT 1", (*given, heard_in))
            if found is None:
                started = datetime.now(UTC).isoformat(timespec="seconds")
                number = self.db.run("INSERT INTO passes (started_utc, settings, versions, digests, heard_in) VALUES (?, ?, ?, ?, 0)",
                                     (started, *given))
                self.db.run("UPDATE passes SET heard_in = coalesce(?, pass) WHERE pass = ?", (heard_in, number))
                found = self.db.one("SELECT * FROM passes WHERE pass = ?", (number,))
        return _pass(found)

    def finish_pass(self, number: int) -> None:
        with self.db.writing():
            self.db.run("UPDATE passes SET finished_utc = ? WHERE pass = ?", (datetime.now(UTC).isoformat(timespec="seconds"), number))

    def passes(self) -> list[Pass]:
        return [_pass(item) for item in self.db.all("SELECT * FROM passes ORDER BY pass")]

    def accepted_pass(self) -> int | None:
        found = self.db.one("SELECT pass FROM passes WHERE accepted = 1")
        return None if found is None else found["pass"]

    # what was heard and read

    def heard_in(self, pass_number: int) -> int:
        """The pass whose windows a pass reads: its own, or an earlier one's."""
        found = self.db.one("SELECT heard_in FROM passes WHERE pass = ?", (pass_number,))
        return pass_number if found is None else found["heard_in"]

    def window_done(self, pass_number: int, source: Source, index: int) -> bool:
        return hearings.window_done(self.db, self.heard_in(pass_number), source, index)

    def save_window(self, key: tuple[int, Source, int], segments: Sequence[Segment], stretches: Sequence[Stretch] = ()) -> None:
        """key: pass, source, window; one transaction."""
        hearings.save_window(self.db, key, segments, stretches)

    def segments(self, pass_number: int) -> list[Segment]:
        return hearings.segments(self.db, self.heard_in(pass_number))

    def stretches(self, pass_number: int) -> list[Stretch]:
        return hearings.stretches(self.db, self.heard_in(pass_number))

    def unaccounted(self, pass_number: int) -> list[Any]:
        return hearings.unaccounted(self.db, self.heard_in(pass_number))

    def save_turns(self, pass_number: int, turns: Sequence[Turn]) -> None:
        with self.db.writing():
            readings.save_turns(self.db, pass_number, turns)
            search.index_turns(self.db, turns)

    def turns(self, pass_number: int) -> list[Turn]:
        return readings.turns(self.db, pass_number)

    def save_questions(self, pass_number: int, questions: Sequence[Question], answers: Sequence[Answer] = ()) -> None:
        readings.save_questions(self.db, pass_number, questions, answers)

    def save_answers(self, pass_number: int, answers: Sequence[Answer]) -> None:
        readings.save_answers(self.db, pass_number, answers)

    def questions(self, pass_number: int) -> list[Question]:
        return readings.questions(self.db, pass_number)

    def answers(self, pass_number: int) -> list[Answer]:
        return readings.answers(self.db, pass_number)

    # rows

    def save_rows(self, pass_number: int, rows: Sequence[Row]) -> list[Row]:
        return rowsets.save_rows(self.db, pass_number, rows)

    def machine_rows(self, pass_number: int) -> list[Row]:
        return rowsets.machine_rows(self.db, pass_number)

    def rows(self) -> list[Row]:
        """What stands: people's words over the machine's, rejected rows left out, in the order of time."""
        return [replace(item.row, look=(*item.row.look, item.mark)) if item.mark == "changed since you looked" else item.row
                for item in edits.all_standing(self.db)]

    def would_change(self, rows: Sequence[Row]) -> Difference:
        """What these rows would change in the machine's rows that stand, were they saved; nothing is written."""
        accepted = self.accepted_pass()
        before = {row.number: row for row in (self.machine_rows(accepted) if accepted is not None else ()) if row.number is not None}
        pairs = match(rowsets.standing_machine_rows(self.db), rows)
        after = {pairs.get(i, -i - 1): replace(row, number=pairs.get(i)) for i, row in enumerate(rows)}
        return replace(_difference(before, after), edited=self._edited())

    def difference(self, old: int, new: int) -> Difference:
        before = {row.number or 0: row for row in self.machine_rows(old)}
        after = {row.number or 0: row for row in self.machine_rows(new)}
        return replace(_difference(before, after), edited=self._edited())

    def _edited(self) -> frozenset[int]:
        return frozenset(item["number"] for item in self.db.all("SELECT number FROM current WHERE edit IS NOT NULL"))

    # checks

    def save_checks(self, pass_number: int, results: Sequence[CheckResult], listening: Sequence[ListeningItem] = ()) -> None:
        with self.db.writing():
            self.db.run("DELETE FROM check_results WHERE pass = ?", (pass_number,))
            self.db.run("DELETE FROM listening WHERE pass = ?", (pass_number,))
            self.db.insert("check_results", [{
                "pass": pass_number, "position": i, "name": item.check, "says": item.says, "rows": dumps(item.rows),
                "look": dumps([rowsets.part_json(part) for part in item.look]), "serious": int(item.serious)}
                for i, item in enumerate(results)])
            self.db.insert("listening", [{
                "pass": pass_number, "position": i, "part": rowsets.part_json(item.part), "seconds": item.seconds,
                "expected_errors": item.expected_errors, "why": dumps(item.why), "number": item.row} for i, item in enumerate(listening)])

    @as_we_write
    def checks(self, pass_number: int) -> list[CheckResult]:
        return [CheckResult(item["name"], item["says"], tuple(json.loads(item["rows"])),
                            tuple(rowsets.part_from(text) for text in json.loads(item["look"])), bool(item["serious"]))
                for item in self.db.all("SELECT * FROM check_results WHERE pass = ? ORDER BY position", (pass_number,))]

    @as_we_write
    def listening(self, pass_number: int) -> list[ListeningItem]:
        return [ListeningItem(rowsets.part_from(item["part"]), item["seconds"], item["expected_errors"], tuple(json.loads(item["why"])),
                              item["number"])
                for item in self.db.all("SELECT * FROM listening WHERE pass = ? ORDER BY position", (pass_number,))]

    # sign-off

    def sign(self, who: str) -> Seal:
        """Signs the session as it stands now. InputError when nobody is named."""
        if not who.strip():
            raise InputError("nobody is named for the sign-off", todo="give your name")
        with self.db.writing():
            return self._sign(who.strip())

    def _sign(self, who: str) -> Seal:
        standing = {item["certainty"]: item["n"] for item in
                    self.db.all("SELECT certainty, count(*) AS n FROM current WHERE state = 'standing' GROUP BY certainty")}
        heard, all_rows = standing.get("heard by a person", 0), sum(standing.values())
        seal = {"who": who, "at_utc": datetime.now(UTC).isoformat(timespec="seconds"), "heard": heard, "not_heard": all_rows - heard,
                "state": self._state()}
        self.note("seal", dumps(seal))
        return Seal(who, str(seal["at_utc"]), heard, all_rows - heard, broken=False)

    def _state(self) -> str:
        return f"{self.noted('last edit') or ''} pass {self.accepted_pass()}"

    @as_we_write
    def seal(self) -> Seal | None:
        """The last sign-off, if there is one; broken when an edit or a new pass came after it."""
        text = self.noted("seal")
        if text is None:
            return None
        data = json.loads(text)
        return Seal(data["who"], data["at_utc"], data["heard"], data["not_heard"], data["state"] != self._state())


def _difference(before: Mapping[int, Row], after: Mapping[int, Row]) -> Difference:
    both = [(before[n], after[n]) for n in sorted(before.keys() & after.keys())]
    return Difference(tuple(after[n] for n in after if n not in before), tuple(before[n] for n in sorted(before.keys() - after.keys())),
                      tuple(pair for pair in both if says(pair[0]) != says(pair[1])),
                      sureness=tuple(pair for pair in both if says(pair[0]) == says(pair[1]) and pair[0].certainty != pair[1].certainty))


@as_we_write
def _pass(item: Any) -> Pass:
    return Pass(item["pass"], item["started_utc"], json.loads(item["settings"]), json.loads(item["versions"]),
                json.loads(item["digests"]), item["finished_utc"])


def canonical_text(turns: Iterable[Turn], rows: Iterable[Row]) -> str:
    """Everything heard and found as text, without any clock time of ours: equal passes give equal texts."""
    lines = [f"{turn.start_s if turn.start_s is not None else ''}\t{turn.loop or ''}\t{turn.station or ''}\t{turn.text}" for turn in turns]
    for row in rows:
        cells = "\t".join(f"{name}={item.value} [{item.origin}, {item.certainty}]" for name, item in row.fields.items())
        lines.append(f"{row.kind}\t{row.place.start_s}\t{row.place.line_index}\t{cells}")
    return "\n".join(lines) + "\n"

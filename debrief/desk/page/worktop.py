"""The top that the page works on: everything it reads from the store and every deed it does there, one call one answer.

A worktop belongs to one thread (a store's connection does). Deeds go through store/edits.py, each in one transaction, and are refused when
the row is not what the person saw.
"""
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from ...errors import ChangedMeanwhile, InputError
from ...records.kinds import KINDS
from ...records.rows import Field, Part, Row
from ...records.sound import Recording, Source
from ...records.talk import Turn
from ...store import edits, readings
from ...store.codec import dumps
from ...store.opening import open_to_change, open_to_read
from ...store.sessions import Seal
from ...timebase import HEARING_RATE_HZ, Span
from ..arising import Arising
from ..contents import Contents, session_of
from ..handout import write_run
from ..sheet_parts import plots
from ..typed_values import typed_fields
from . import asked
from .index import Entry, Index, place_key, token_of
from .namesakes import NAMES, namesakes, renamed
from .passages import passage, rows_beside
from .shown import Json, deed_shown, fields_shown, padded, place_shown, recording_shown, row_shown, turn_shown
from .sounds import Heard, find_recordings, silence_token

MOST_TO_DRAW = 3_000
LONGEST_MARK_S = 60


class NoSuchRow(InputError):
    """A number that no row has."""


class Worktop:
    """Opens the store for edits; raises StoreError."""

    def __init__(self, path: Path, folder: Path | None = None) -> None:
        self.store = open_to_change(path)
        self._folder = folder
        self.silence = silence_token(self.store)
        self.recordings: dict[str, Heard] = find_recordings(self.store, folder)
        self.session = session_of(self.store)
        self.title = self.session.title or self.store.noted("title") or "Session"
        self.index = Index(self.store)
        self.arising = Arising(self.store)
        self.about()
        self.rows(asked.RowsQuery())  # the first questions of every window are answered before it opens

    def close(self) -> None:
        self.store.close()

    # reading

    def may_be_heard(self) -> bool:
        """Whether the recordings stand as they were found; looked for anew when a pass or an erasure changed what may be heard."""
        now = silence_token(self.store)
        if now == self.silence:
            return True
        self.silence, self.recordings = now, find_recordings(self.store, self._folder)
        return False

    def about(self) -> Json:
        """What the session is, what can be chosen, how far the work is."""
        self.index.refresh()
        seal = self.store.seal()
        return {
            "title": self.title, "token": self.index.token,
            "kinds": [{"kind": name, "title": kind.title, "says": kind.says,
                       "fields": [{"name": column.name, "type": column.type} for column in kind.columns]} for name, kind in KINDS.items()],
            "recordings": [recording_shown(item.recording, item.says) for item in self.recordings.values()],
            "choices": {name: [{"name": value, "count": count} for value, count in found] for name, found in self.index.choices().items()},
            "stations": sorted({station.name for station in self.session.stations}), "counts": self.index.counts(),
            "seal": seal_shown(seal), "last": [deed_shown(item) for item in self._last_deeds()],
        }

    def _last_deeds(self, most: int = 12) -> list[edits.Deed]:
        found = self.store.db.all("SELECT * FROM edits ORDER BY edit DESC LIMIT ?", (most,))
        return [edits.Deed(item["edit"], item["deed"], item["number"], item["action"], item["who"], item["at_utc"], item["note"],
                           item["undone_utc"] is not None) for item in found]

    def rows(self, wanted: asked.RowsQuery) -> Json:
        self.index.refresh()
        found = self.index.find(wanted)
        return {"total": found.total, "before": found.before, "token": self.index.token, "entries": list(self._shown(found.entries))}

    def _shown(self, entries: list[Entry]) -> Iterator[Json]:
        numbers = [entry.number for entry in entries if entry.number is not None]
        heard = self.index.heard_places() if len(numbers) < len(entries) else {}
        for entry in entries:
            if entry.number is None:
                item = self.index.items[entry.position]
                yield place_shown(entry, item, heard.get(place_key(item)))
            else:
                yield row_shown(edits.standing(self.store.db, entry.number), self.index.whys_of(entry))

    def row(self, number: int) -> Json:
        """A row with its history and what the machine had found."""
        self.index.refresh()
        shown = self._row(number)
        accepted = self.store.accepted_pass()
        machine = edits.machine_row(self.store.db, accepted, number) if accepted is not None else None
        deeds = edits.deeds(self.store.db, number)
        return shown | {"deeds": [deed_shown(item) for item in deeds],
                        "machine": fields_shown(machine) if machine is not None and shown["edited"] else None}

    def _standing(self, number: int) -> edits.Standing:
        try:
            return edits.standing(self.store.db, number)
        except InputError as error:
            raise NoSuchRow(error.what, todo=error.todo) from error

    def _row(self, number: int) -> Json:
        entry = self.index.entry(f"r{number}")
        return row_shown(self._standing(number), self.index.whys_of(entry) if entry else ())

    def talk(self, wanted: asked.TalkQuery) -> Json:
        """Turns around a turn or a moment, in the order of the conversation."""
        self.index.refresh()
        accepted = self.store.accepted_pass()
        middle = wanted.turn if wanted.turn is not None else self._turn_at(wanted)
        if accepted is None or middle is None:
            return {"turn": None, "turns": []}
        first = max(0, middle - wanted.around)
        found = readings.turns(self.store.db, accepted, first, middle - first + wanted.around + 1)
        return {"turn": middle, "turns": [turn_shown(turn, self.index.turn_rows.get(turn.index, ())) for turn in found]}

    def _turn_at(self, wanted: asked.TalkQuery) -> int | None:
        """The turn spoken at a moment of a channel, else the last one before it, else the first after."""
        order = ('SELECT turn FROM turns WHERE pass = ? AND recording = ? AND channel = ? AND start {} ? ORDER BY start {} LIMIT 1')
        for sign, way in (("<=", "DESC"), (">", "ASC")):
            found = self.store.db.one(order.format(sign, way), (self.store.accepted_pass(), wanted.recording, wanted.channel, wanted.start))
            if found is not None:
                return int(found["turn"])
        return None

    def passage(self, wanted: asked.PassageQuery) -> Json:
        """The sound that runs through a row and the rows beside it that are left, and these rows in order; none where the row has no sound."""
        self.index.refresh()
        entry = self.index.entry(f"r{wanted.number}")
        row = self._standing(wanted.number).row
        found = passage(row, rows_beside(self.index, entry, lambda number: self._standing(number).row)) if entry else None
        if found is None:
            return {"clip": None, "rows": []}
        return {"clip": padded(found.source, found.span), "rows": [self._row(item.number or 0) for item in found.rows]}

    def readouts(self, wanted: asked.Filter) -> list[int]:
        """Numbers of the readouts that fit, in the order of time."""
        self.index.refresh()
        return self.index.fitting_numbers(wanted.model_copy(update={"kind": ["readouts"]}))

    def changes(self, since: str) -> Json:
        """The state's token, and the counts and the seal when it is not the one that the page has."""
        token = token_of(self.store)
        if token == since:
            return {"token": token, "changed": False}
        self.index.refresh()
        return {"token": self.index.token, "changed": True, "counts": self.index.counts(), "seal": seal_shown(self.store.seal()),
                "last": [deed_shown(item) for item in self._last_deeds()]}

    # deeds

    @contextmanager
    def _deed(self) -> Iterator[None]:
        try:
            yield
        finally:
            self.index.refresh()

    def accept(self, number: int, given: asked.Decide) -> Json:
        with self._deed():
            self._standing(number)
            edits.accept(self.store.db, number, given.revision, given.who, given.note)
        return {"rows": [self._row(item) for item in edits.touched_with(self.store.db, number)]}

    def accept_together(self, given: asked.AcceptTogether) -> Json:
        numbers = list(dict.fromkeys((item.number, item.revision) for item in given.rows))
        with self._deed():
            for number, _ in numbers:
                self._standing(number)
            edits.accept_together(self.store.db, numbers, given.who)
        return {"rows": [self._row(item) for item in edits.touched_with(self.store.db, numbers[0][0])]}

    def reject(self, number: int, given: asked.Decide) -> Json:
        with self._deed():
            self._standing(number)
            edits.reject(self.store.db, number, given.revision, given.who, given.note)
        return {"rows": [self._row(item) for item in edits.touched_with(self.store.db, number)]}

    def change(self, number: int, given: asked.Change) -> Json:
        with self._deed():
            row = self._standing(number).row
            values = _typed(row, given.values)
            self.arising.change((number, given.revision), values, given.who, given.note)
        return {"rows": [self._row(item) for item in edits.touched_with(self.store.db, number)], "same": self._same(row, values)}

    def _same(self, row: Row, values: dict[str, Any]) -> Json | None:
        """Other rows of the name that was just changed, which may want the same; None where there are none."""
        told = renamed(row, values)
        found = [] if told is None else list(namesakes(self.store, row, told[0]))
        if told is None or not found:
            return None
        return {"field": told[0], "was": told[1], "value": told[2], "after": row.number, "rows": [self._row(item.number or 0) for item in found]}

    def rename(self, given: asked.Rename) -> Json:
        if given.field not in NAMES:
            raise InputError(f"{given.field} holds no name that rows share", todo=f"such fields: {', '.join(NAMES)}")
        numbers = list(dict.fromkeys((item.number, item.revision) for item in given.rows))
        with self._deed():
            for number, _ in numbers:
                self._standing(number)
            edits.rename(self.store.db, numbers, (given.field, given.value.strip()), given.who, f"named as row {given.after}")
        return {"rows": [self._row(item) for item in edits.touched_with(self.store.db, numbers[0][0])]}

    def split(self, number: int, given: asked.Split) -> Json:
        with self._deed():
            row = self._standing(number).row
            made = edits.split(self.store.db, number, given.revision, [_typed(row, part) for part in given.parts], given.who)
        return {"rows": [self._row(item.number or 0) for item in made]}

    def merge(self, given: asked.Merge) -> Json:
        if len({item.number for item in given.rows}) < len(given.rows):
            raise InputError("a row cannot be merged with itself", todo="choose each row once")
        with self._deed():
            edits.merge(self.store.db, [(item.number, item.revision) for item in given.rows], given.who)
        return {"rows": [self._row(item.number) for item in given.rows]}

    def add(self, given: asked.Add) -> Json:
        if given.kind not in KINDS:
            raise InputError(f"there is no kind of row named {given.kind!r}", todo=f"kinds: {', '.join(KINDS)}")
        part, turn = self._marked(given.place)
        row = Row(given.kind, {}, (part,), self._loop_of(part, turn), given.station or (turn.station if turn else None), turn.index if turn else None)
        values = _typed(row, given.values)
        fields = {name: Field(value) for name, value in values.items() if value is not None}
        if not fields:
            raise InputError("a row says something: at least one field is filled", todo="write what was said into its field")
        with self._deed():
            made = edits.add(self.store.db, replace(row, fields=fields), given.who, given.note)
        return {"rows": [self._row(made.number or 0)]}

    def _marked(self, place: asked.Place) -> tuple[Part, Turn | None]:
        """The evidence of a row by hand: the words of the marked sound, or of a turn where there is no sound."""
        accepted = self.store.accepted_pass()
        if place.recording is None:
            turn = next(iter(readings.turns(self.store.db, accepted, place.turn, 1)), None) if accepted and place.turn is not None else None
            if turn is None:
                raise InputError("no sound is marked for the new row", todo="mark where it was said, or choose the turn that says it")
            return Part("text", turn.text, source=turn.source, span=turn.span, line_index=turn.line_index, start_s=turn.start_s), turn
        heard = self.recordings.get(place.recording)
        if heard is None or place.channel not in heard.channels:
            raise InputError("the session has no such sound", todo="mark sound of this session")
        if not place.start < place.end <= min(heard.recording.duration, place.start + LONGEST_MARK_S * HEARING_RATE_HZ):
            raise InputError(f"a mark is at most {LONGEST_MARK_S} s of the recording, its start before its end", todo="mark it again")
        source, span = Source(place.recording, place.channel), Span(place.start, place.end)
        turns = self._turns_in(source, span)
        words = " ".join(t.text for turn in turns for t in turn.tokens if t.span is not None and t.span.overlap(span))
        part = Part("text", words, source=source, span=span, start_s=heard.recording.clock.to_session_s(span.start_s))
        return part, turns[0] if turns else None

    def _turns_in(self, source: Source, span: Span) -> list[Turn]:
        found = self.store.db.all('SELECT turn FROM turns WHERE pass = ? AND recording = ? AND channel = ? AND start < ? AND "end" > ? ORDER BY start',
                                  (self.store.accepted_pass(), source.recording, source.channel, span.end, span.start))
        return [turn for item in found for turn in readings.turns(self.store.db, self.store.accepted_pass() or 0, item["turn"], 1)]

    def _loop_of(self, part: Part, turn: Turn | None) -> str | None:
        if part.source is not None:
            loops = self.recordings[part.source.recording].recording.loops
            return (loops[part.source.channel] if part.source.channel < len(loops) else "") or None
        return turn.loop if turn else None

    def undo(self, given: asked.Undo) -> Json:
        with self._deed():
            numbers = edits.undo(self.store.db, given.who, given.deed)
        there = [number for number in dict.fromkeys(numbers) if self.index.entry(f"r{number}")]
        return {"rows": [self._row(number) for number in there], "gone": [number for number in numbers if number not in there]}

    def heard_place(self, given: asked.HeardPlace) -> Json:
        """A place without a row: somebody heard it and it holds nothing that is missing."""
        entry = self.index.entry(f"p{given.place}")
        if entry is None or entry.number is not None:
            raise InputError("the listening list has no such place", todo="load the page again")
        key = place_key(self.index.items[entry.position])
        with self._deed(), self.store.db.writing():
            if given.heard:
                self.store.note(key, dumps({"who": given.who, "at_utc": datetime.now(UTC).isoformat(timespec="seconds")}))
            else:
                self.store.db.run("DELETE FROM meta WHERE key = ?", (key,))
            self.store.note("places heard", str(int(self.store.noted("places heard") or 0) + 1))
        now = self.index.entry(entry.key) or entry
        return {"rows": list(self._shown([now]))}

    def sign(self, given: asked.Sign) -> Json:
        with self._deed(), self.store.db.writing():
            if token_of(self.store) != given.token:
                raise ChangedMeanwhile("the session was changed since you looked", todo="look at the counts as they are now, then sign")
            seal = self.store.sign(given.who)
        return {"seal": seal_shown(seal), "token": self.index.token}


def _typed(row: Row, values: dict[str, str]) -> dict[str, Any]:
    """Fields as typed, through the reader that every typed field goes through."""
    return typed_fields(row, [f"{name}={value}" for name, value in values.items()])


def seal_shown(seal: Seal | None) -> Json | None:
    return None if seal is None else {"who": seal.who, "at_utc": seal.at_utc, "heard": seal.heard, "not_heard": seal.not_heard,
                                      "broken": seal.broken}


def drawings(path: Path, numbers: list[int]) -> Json:
    """Drawings of these readouts by a reading of the store of its own, so that nobody waits for it: name and SVG; how many were left out."""
    with open_to_read(path) as store:
        rows = [edits.standing(store.db, number).row for number in numbers[:MOST_TO_DRAW]]
        return {"drawings": plots(Contents(rows, session_of(store))), "drawn": len(rows), "whole": len(numbers)}


def write_out(path: Path, recordings: Sequence[Recording]) -> Json:
    """Sheet, tables and captions anew into the folder of the store, as the session stands now and with its seal."""
    with open_to_read(path) as store:
        folder = store.db.path.absolute().parent
        write_run(store, session_of(store), folder, recordings)
        return {"folder": str(folder), "token": token_of(store)}

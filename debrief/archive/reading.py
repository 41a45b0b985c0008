"""What an archive takes from a session store, in pieces that other processes can read and hand over.

Header: what the session is about and what stands in the way. Piece: some turns and rows as plain tuples, ready to be written. The
contents of a session (its address) are a digest of everything that is taken, free of paths and of clock times of ours: two copies of one
store have the same.
"""
import hashlib
import json
import re
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from ..errors import DebriefError
from ..records.rows import CERTAINTIES, Row
from ..records.sound import Recording
from ..store.codec import dumps, row_in, row_out
from ..store.opening import open_to_read
from ..store.readings import plain_turns
from ..store.search import words_of
from ..store.sessions import SessionStore
from ..timebase import HEARING_RATE_HZ
from ..units import canonical, dimension_of, in_si, pressure_kind
from .plain import plain

PIECE = 2000
"""Turns or rows handed over at once."""
FREE_TEXT = frozenset({"text", "said", "readback", "reason", "question", "value_text"})
LONGEST_LABEL = 60
PRESSURE = "pressure"
PRESSURES = {f"{PRESSURE} {kind}": kind for kind in ("absolute", "gauge", "differential")}
"""Dimensions of pressures that say their kind, and the kind: no two of them are compared."""
DIFFERENCES = frozenset({"differential", "difference", "delta"})
"""Words in the name of a pressure that say that it is one between two others, whatever its unit."""
_VOCABULARY_WORD = re.compile(r"[^\W\d_]{2,30}")


@dataclass(frozen=True, slots=True)
class Header:
    """What is known of a session before its talk is read. same: equal for every reading of the same recordings; '' where none is known.

    state: changes with every change of the store; turns, last_row: how far its turns and row numbers go.
    """

    path: Path
    stamp: str
    state: str
    same: str
    title: str
    recordings: tuple[Recording, ...]
    pass_number: int
    turns: int
    rows: int
    last_row: int
    erasures: int
    provenance: str


@dataclass(frozen=True, slots=True)
class TurnTaken:
    """place: recording's position, channel, start, end (samples), start_ms, line_index."""

    turn: int
    place: tuple[Any, ...]
    station: str | None
    loop: str | None
    aside: bool
    text: str
    heard: str | None


@dataclass(frozen=True, slots=True)
class RowTaken:
    """about: what is measured or rated, in plain words; value: dimension, low and high in SI (None: no number); labels: (field, text)."""

    number: int
    kind: str
    turn: int | None
    place: tuple[Any, ...]
    station: str | None
    loop: str | None
    certainty: int
    about: str
    measured: bool
    value: tuple[str, float, float] | None
    labels: tuple[tuple[str, str], ...]
    words: str
    body: bytes


@dataclass(frozen=True, slots=True)
class Piece:
    """Turns or rows of a session, the new words in them, and their part of the digest; problem: why they could not be read."""

    turns: tuple[TurnTaken, ...] = ()
    rows: tuple[RowTaken, ...] = ()
    words: frozenset[str] = frozenset()
    digest: str = ""
    problem: str = ""


# the header


def stamp_of(file: Path) -> str:
    """Size and time of the store's file and its log: equal stamps need no reading."""
    found = [item.stat() for item in (file, file.with_name(file.name + "-wal")) if item.exists()]
    return " ".join(f"{item.st_size}:{item.st_mtime_ns}" for item in found if item.st_size)


def read_header(file: Path) -> Header:
    """Raises StoreError; DebriefError where no pass of the session is finished."""
    stamp = stamp_of(file)
    with open_to_read(file) as store:
        number = store.accepted_pass()
        if number is None:
            raise DebriefError("no pass over this session is finished", str(file), "run it to its end, then add it")
        recordings = tuple(store.recordings())
        return Header(file, stamp, state_of(store), _same(recordings), store.noted("title") or "", recordings, number,
                      _one(store, "SELECT coalesce(max(turn) + 1, 0) FROM turns WHERE pass = ?", (number,)),
                      _one(store, "SELECT count(*) FROM current WHERE state = 'standing'"), _one(store, "SELECT coalesce(max(number), 0) FROM current"),
                      _one(store, "SELECT count(*) FROM erasures"), dumps(_provenance(store, number)))


def state_of(store: SessionStore) -> str:
    """A text that every change of the store changes."""
    return f"{store.accepted_pass()} {store.noted('last edit')} {store.noted('revision')}"


def _one(store: SessionStore, sql: str, values: Sequence[Any] = ()) -> int:
    found = store.db.one(sql, values)
    return int(found[0]) if found else 0


def _same(recordings: Sequence[Recording]) -> str:
    digests = [item.sha256 for item in recordings]
    return hashlib.sha256(dumps(digests).encode()).hexdigest() if digests and all(digests) else ""


def _provenance(store: SessionStore, number: int) -> dict[str, Any]:
    made = next(item for item in store.passes() if item.number == number)
    seal = store.seal()
    return {"pass": number, "settings": dict(made.settings), "versions": dict(made.versions), "digests": dict(made.digests),
            "signed": None if seal is None else {"who": seal.who, "at_utc": seal.at_utc, "broken": seal.broken}}


def start_utc(recording: Recording) -> float | None:
    """Seconds since 1970 UTC of the first sample; None where no start with a time zone is known."""
    start = recording.clock.start
    return None if start is None or start.tzinfo is None else start.timestamp()


def utc_range(recordings: Sequence[Recording]) -> tuple[float | None, float | None]:
    known = [(start, start + item.duration / HEARING_RATE_HZ / item.clock.rate) for item in recordings if (start := start_utc(item)) is not None]
    return (min(a for a, _ in known), max(b for _, b in known)) if known else (None, None)


def header_digest(header: Header) -> str:
    """The digest of what the header says, paths and clock times of ours left out."""
    sounds = [[item.sha256, item.duration, item.channels, list(item.loops), item.clock.offset_s, item.clock.rate,
               item.clock.start.isoformat() if item.clock.start else None] for item in header.recordings]
    return hashlib.sha256(dumps([header.title, sounds, header.provenance]).encode()).hexdigest()


# the pieces


def pieces_of(header: Header) -> Iterator[tuple[str, int, int]]:
    """What to read one after the other: ('turns' or 'rows', first, end)."""
    for what, end in (("turns", header.turns), ("rows", header.last_row + 1)):
        yield from ((what, first, min(first + PIECE, end)) for first in range(0, end, PIECE))


def read_piece(file: Path, pass_number: int, recordings: Mapping[str, int], piece: tuple[str, int, int]) -> Piece:
    """Runs in any process. Never raises a DebriefError: it is told as the piece's problem."""
    what, first, end = piece
    try:
        with SessionStore.open(file, read_only=True) as store:
            return _turns(store, pass_number, recordings, (first, end)) if what == "turns" else _rows(store, recordings, (first, end))
    except DebriefError as error:
        return Piece(problem=error.what)


def _turns(store: SessionStore, pass_number: int, recordings: Mapping[str, int], part: tuple[int, int]) -> Piece:
    found = [item for item in plain_turns(store.db, pass_number, part[0], part[1] - part[0]) if item["turn"] < part[1]]
    return turn_piece([_turn(item, recordings) for item in found])


def turn_piece(taken: Sequence[TurnTaken]) -> Piece:
    digest = hashlib.sha256(repr([(t.turn, t.place[1:], t.station, t.loop, t.aside, t.text, t.heard) for t in taken]).encode("utf-8", "replace"))
    words = frozenset(word for item in taken for word in _VOCABULARY_WORD.findall(item.text.lower()))
    return Piece(tuple(taken), words=words, digest=digest.hexdigest())


def _turn(item: Any, recordings: Mapping[str, int]) -> TurnTaken:
    text = item["said"] or ""
    heard = item["heard"] if item["heard"] and item["heard"] != text else None
    place = (recordings.get(item["recording"]), item["channel"], item["start"], item["end"], _ms(item["start_s"]), item["line_index"])
    return TurnTaken(item["turn"], place, item["station"], item["loop"], bool(item["set_aside"]), text, heard)


def _ms(seconds: float | None) -> int | None:
    return None if seconds is None else round(seconds * 1000)


def _rows(store: SessionStore, recordings: Mapping[str, int], part: tuple[int, int]) -> Piece:
    found = store.db.all("SELECT \"row\", mark FROM current WHERE state = 'standing' AND number >= ? AND number < ? ORDER BY number", part)
    rows = [replace(row, look=(*row.look, mark)) if mark == "changed since you looked" else row
            for row, mark in ((row_in(item["row"]), item["mark"]) for item in found)]
    return row_piece(rows, recordings)


def row_piece(rows: Sequence[Row], recordings: Mapping[str, int]) -> Piece:
    texts = [row_out(row) for row in rows]
    taken = tuple(row_taken(row, text, recordings) for row, text in zip(rows, texts, strict=True))
    return Piece(rows=taken, digest=hashlib.sha256("\n".join(texts).encode("utf-8", "replace")).hexdigest())


def row_taken(row: Row, text: str, recordings: Mapping[str, int]) -> RowTaken:
    """A row as the archive holds it; text: the whole row as JSON."""
    part = row.place
    place = (recordings.get(part.source.recording) if part.source else None, part.source.channel if part.source else None,
             part.span.start if part.span else None, part.span.end if part.span else None, _ms(part.start_s), part.line_index)
    given = row.get("station")
    return RowTaken(row.number or 0, row.kind, row.turn, place, str(given) if given else row.station, row.loop,
                    CERTAINTIES.index(row.certainty), about_of(row), _measured(row), value_of(row), tuple(labels_of(row)),
                    words_of(row), zlib.compress(text.encode("utf-8", "replace"), 6))


def body_text(body: bytes) -> str:
    return zlib.decompress(body).decode("utf-8")


def about_of(row: Row) -> str:
    """What a row measures or rates, in plain words: subject and parameter (once where the one says the other), axis, or clock."""
    if row.get("parameter"):
        subject, parameter = plain(str(row.get("subject") or "")), plain(str(row.get("parameter")))
        return parameter if set(subject.split()) <= set(parameter.split()) else f"{subject} {parameter}"
    return plain(str(row.get("axis") or row.get("clock") or ""))


def _measured(row: Row) -> bool:
    return row.get("class") in (None, "", "measured") and not row.get("superseded")


def value_of(row: Row) -> tuple[str, float, float] | None:
    """Dimension, low and high in SI. A value without a unit has the dimension '', one with a unit of the user's own 'unit NAME'."""
    low, high = row.get("value"), row.get("value_high")
    if not isinstance(low, Decimal | int | float) or isinstance(low, bool):
        return None
    unit = row.get("unit")
    upper = high if isinstance(high, Decimal | int | float) and not isinstance(high, bool) else low
    dimension, ends = measure(unit if isinstance(unit, str) else None, (Decimal(str(low)), Decimal(str(upper))))
    if dimension == PRESSURE and DIFFERENCES & set(about_of(row).split()):
        dimension = f"{PRESSURE} differential"
    return dimension, min(ends), max(ends)


def measure(unit: str | None, values: Sequence[Decimal]) -> tuple[str, list[float]]:
    """The dimension of a unit as a person wrote it, with its kind for a pressure that says one ('pressure gauge'), and the values in SI.

    Without a known unit the values as they stand.
    """
    name = canonical(unit)
    dimension = dimension_of(name)
    if name is None or dimension is None:
        return "" if name is None else f"unit {plain(name)}", [float(value) for value in values]
    kind = pressure_kind(name)
    return f"{dimension} {kind}" if kind else dimension, [float(in_si(value, name)) for value in values]


def labels_of(row: Row) -> Iterator[tuple[str, str]]:
    """Fields that can be asked for by name: short texts and flags, in plain words."""
    for name, item in row.fields.items():
        value = item.value
        if isinstance(value, bool):
            yield name, "yes" if value else "no"
        elif isinstance(value, str) and name not in FREE_TEXT and 0 < len(value) <= LONGEST_LABEL and plain(value):
            yield name, plain(value)


def now_utc() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def provenance_of(text: str) -> dict[str, Any]:
    return dict(json.loads(text))

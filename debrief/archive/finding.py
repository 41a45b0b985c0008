"""Answers a question put to an archive: places in the talk, or rows, in the order of time.

Sessions follow each other by their date (those without one come last), places in a session by its clock. A common word has more places
than anybody reads: they are counted up to MOST_COUNTED, and sessions are then asked one by one until enough is found.
"""
import re
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import islice
from typing import NamedTuple

from ..errors import InputError
from ..store.search import as_match
from .alike import alikes
from .bounded import Bounded, Wanted
from .choosing import Chooser
from .query import Query, checked
from .shape import Archive

MOST_COUNTED = 10_000
EVERY = -1
"""For SQLite no limit: what a session holds beyond a limit may be the very part whose time is asked for."""


class Asked(NamedTuple):
    """A session as far as a search needs it; turns, rows: ids [first, end); cut: a time asked for begins or ends inside it."""

    session: int
    turns: tuple[int, int]
    rows: tuple[int, int]
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """ids: of turns or rows, in order, as many as were asked for; counted: how many fit, at least so many where `more`; notes: for a person."""

    of_rows: bool
    ids: tuple[int, ...]
    counted: int
    more: bool
    notes: tuple[str, ...] = ()
    match: str = ""


@dataclass
class _Search:
    archive: Archive
    query: Query
    notes: list[str] = field(default_factory=list)


def find(archive: Archive, query: Query) -> Answer:
    """Raises InputError for a question that cannot be asked."""
    search = _Search(archive, checked(query))
    sessions = _sessions(search)
    answer = _rows(search, sessions) if query.of_rows else _turns(search, sessions)
    return answer if answer.ids or not query.words else replace(answer, notes=(*answer.notes, *_hints(search)))


def _hints(search: _Search) -> Iterator[str]:
    """What may help a person whose words were not found."""
    query, chooser = search.query, Chooser(search.archive)
    unsaid = chooser.unsaid(re.sub(r"\S+\*|\bNEAR\b", " ", query.words))
    yield from unsaid
    alone = not (query.of_rows or query.stations or query.loops or query.some_sessions)
    if alone and not unsaid and len(query.words.split()) > 1:
        yield "each word is there, but nowhere together"
    if not query.sounds_like:
        yield "--sounds-like also finds what was written for a word that was misheard"


# which sessions


_SESSIONS = ("SELECT session, first_turn, end_turn, first_row, end_row, utc_from, utc_to FROM sessions "
             "ORDER BY utc_from IS NULL, utc_from, session")


def _sessions(search: _Search) -> Iterable[Asked]:
    """Those that are asked, in the order of time. All of them are read one by one, once: an answer is mostly full after a few."""
    query = search.query
    if not query.some_sessions:
        return (Asked(item[0], (item[1], item[2]), (item[3], item[4])) for item in search.archive.each(_SESSIONS))
    wanted = None
    if query.sessions:
        from .adding import sessions_named  # noqa: PLC0415 - adding reads stores, searching need not know how

        wanted = {item["session"] for name in query.sessions for item in sessions_named(search.archive, name, in_part=True)}
    found = search.archive.all(_SESSIONS)
    if query.timed and (unknown := sum(item["utc_from"] is None for item in found)):
        search.notes.append(f"{unknown} sessions have no known date and were left out")
    return [Asked(session, (first_turn, end_turn), (first_row, end_row), query.timed and _cut(query, utc_from, utc_to))
            for session, first_turn, end_turn, first_row, end_row, utc_from, utc_to in found
            if (wanted is None or session in wanted) and (not query.timed or _overlaps(query, utc_from, utc_to))]


def _cut(query: Query, utc_from: float, utc_to: float) -> bool:
    return (query.utc_from is not None and utc_from < query.utc_from) or (query.utc_to is not None and utc_to > query.utc_to)


def _overlaps(query: Query, utc_from: float | None, utc_to: float) -> bool:
    return (utc_from is not None and (query.utc_from is None or utc_to >= query.utc_from) and (query.utc_to is None or utc_from < query.utc_to))


# the talk


def _match(search: _Search, columns: str, *, kinds: Sequence[int] = ()) -> str:
    """Words, and who, where and what kind, as one full-text query; '' when none of them is asked for."""
    query, parts = search.query, []
    if query.words.strip():
        look = partial(alikes, search.archive) if query.sounds_like else None
        parts.append(f"{{{columns}}} : ({as_match(query.words, look) if look else as_match(query.words)})")
    chooser = Chooser(search.archive)
    tags = [[f"s{name}" for name in chooser.names("station", query.stations)], [f"l{name}" for name in chooser.names("loop", query.loops)],
            [f"k{kind}" for kind in kinds]]
    parts += ["{tags} : (" + " OR ".join(f'"{tag}"' for tag in group) + ")" for group in tags if group]
    return " AND ".join(parts)


def _turns(search: _Search, sessions: Iterable[Asked]) -> Answer:
    match = _match(search, "text heard")
    match = match if search.query.copies else f'({match}) NOT ({{tags}} : "aside")'
    every = _every_place(search, sessions, match)
    if len(every) <= MOST_COUNTED:
        chosen = _in_order(search.query, sessions, every)
        counted = len(chosen) if search.query.first else len(every)
        return Answer(False, tuple(chosen[: search.query.limit]), counted, False, tuple(search.notes), match)
    chosen = list(islice(_one_by_one(search, sessions, match), search.query.limit))
    return Answer(False, tuple(chosen), MOST_COUNTED, True, tuple(search.notes), match)


def _every_place(search: _Search, sessions: Iterable[Asked], match: str) -> list[int]:
    """Every place that fits, up to one more than MOST_COUNTED."""
    if search.query.some_sessions:
        return list(islice(_one_by_one(search, sessions, match, whole=True), MOST_COUNTED + 1))
    return [item[0] for item in search.archive.all("SELECT rowid FROM turn_words WHERE turn_words MATCH ? ORDER BY rowid LIMIT ?",
                                                   (match, MOST_COUNTED + 1))]


def _one_by_one(search: _Search, sessions: Iterable[Asked], match: str, *, whole: bool = False) -> Iterator[int]:
    """Places session by session, in the order of time."""
    most = 1 if search.query.first and not whole else MOST_COUNTED + 1 if whole else search.query.limit
    for item in sessions:
        found = search.archive.all("SELECT rowid FROM turn_words WHERE turn_words MATCH ? AND rowid BETWEEN ? AND ? ORDER BY rowid LIMIT ?",
                                   (match, item.turns[0], item.turns[1] - 1, EVERY if item.cut else most))
        ids = [number[0] for number in found]
        ids = _in_time(search, "turns", ids) if item.cut else ids
        yield from ids[:most]
        if search.query.first == "archive" and ids and not whole:
            return


def _in_time(search: _Search, table: str, ids: Sequence[int]) -> list[int]:
    """Those of one session whose wall clock time lies within what was asked for."""
    query = search.query
    found = search.archive.all(
        f"SELECT id, start_utc + start / 16000.0 / rate AS utc FROM {table} AS t JOIN recordings AS r ON r.session = t.session "
        f"AND r.position = t.recording WHERE id IN ({', '.join(map(str, ids))})")
    return [item["id"] for item in found if item["utc"] is not None and (query.utc_from is None or item["utc"] >= query.utc_from)
            and (query.utc_to is None or item["utc"] < query.utc_to)]


def _in_order(query: Query, sessions: Iterable[Asked], every: Sequence[int]) -> list[int]:
    """The places of the sessions in the order of time, as many as are asked for; of each session or of all only the first where asked."""
    every, chosen = sorted(every), list[int]()
    for item in sessions:
        inside = every[bisect_left(every, item.turns[0]):bisect_left(every, item.turns[1])]
        chosen += inside[:1] if query.first else inside
        if chosen and query.first == "archive" or len(chosen) >= query.limit and not query.first:
            break
    return chosen


# rows


def _rows(search: _Search, sessions: Iterable[Asked]) -> Answer:
    wanted = _wanted(search)
    found = _found(search, wanted, sessions)
    if len(found) > MOST_COUNTED:
        chosen = list(islice(_rows_one_by_one(search, wanted, sessions), search.query.limit))
        return Answer(True, tuple(chosen), MOST_COUNTED, True, tuple(search.notes))
    chosen = _rows_in_order(search, sessions, sorted(found))
    counted = len(chosen) if search.query.first else len(found)
    return Answer(True, tuple(chosen[: search.query.limit]), counted, False, tuple(search.notes))


def _found(search: _Search, wanted: Wanted, sessions: Iterable[Asked]) -> list[int]:
    """Every row that fits, up to one more than MOST_COUNTED."""
    if not search.query.some_sessions:
        return wanted.ids(search.archive, MOST_COUNTED + 1)
    found: list[int] = []
    for first, end in _joined(item.rows for item in sessions if not item.cut):
        found += wanted.ids(search.archive, MOST_COUNTED + 1 - len(found), (first, end))
        if len(found) > MOST_COUNTED:
            return found
    for item in sessions:
        if item.cut:
            found += _in_time(search, "rows", wanted.ids(search.archive, EVERY, item.rows))
    return found[:MOST_COUNTED + 1]


def _joined(ranges: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """The ranges in order, those that touch made one."""
    made: list[tuple[int, int]] = []
    for first, end in sorted(ranges):
        if made and made[-1][1] == first:
            made[-1] = (made[-1][0], end)
        else:
            made.append((first, end))
    return made


def _rows_one_by_one(search: _Search, wanted: Wanted, sessions: Iterable[Asked]) -> Iterator[int]:
    """Rows session by session, in the order of time, where there are more than are counted."""
    for item in sessions:
        inside = wanted.ids(search.archive, EVERY, item.rows)
        inside = _in_time(search, "rows", inside) if item.cut else inside
        ordered = _in_session_order(search, [inside])[0]
        yield from ordered[:1] if search.query.first else ordered
        if search.query.first == "archive" and ordered:
            return


def _rows_in_order(search: _Search, sessions: Iterable[Asked], found: Sequence[int]) -> list[int]:
    """Ids in the order of time, as many as are asked for: sessions by their date, rows of a session by its clock."""
    query, groups, count = search.query, list[Sequence[int]](), 0
    for item in sessions:
        inside = found[bisect_left(found, item.rows[0]):bisect_left(found, item.rows[1])]
        if inside:
            groups.append(inside)
            count += len(inside)
            if query.first == "archive" or (count >= query.limit and not query.first):
                break
    return [number for ordered in _in_session_order(search, groups) for number in (ordered[:1] if query.first else ordered)]


def _in_session_order(search: _Search, groups: Sequence[Sequence[int]]) -> list[list[int]]:
    """Each group, the rows of one session, in the order of its clock; by lines where there is no time."""
    every = ", ".join(str(number) for group in groups for number in group)
    times = {number: (start_ms is None, line_index if start_ms is None else start_ms, number) for number, start_ms, line_index in
             search.archive.all(f"SELECT id, start_ms, coalesce(line_index, 0) FROM rows WHERE id IN ({every})")}
    return [sorted(group, key=times.__getitem__) for group in groups]


def _wanted(search: _Search) -> Wanted:
    query, chooser = search.query, Chooser(search.archive)
    bound = query.low or query.high
    kinds = chooser.kinds(query.kinds or (("readouts", "ratings") if bound else ()))
    match = _match(search, "words", kinds=kinds) if query.words.strip() or query.stations or query.loops else ""
    parts: list[str] = []
    if kinds:
        # a plus keeps SQLite from taking all rows of a kind where something else says more: it knows no counts before many sessions came in
        plus = "+" if bound or match or query.parameter or query.fields else ""
        parts.append(f"{plus}kind IN ({', '.join(map(str, kinds))})")
    elif query.kinds or bound:
        parts.append("0")
    if query.at_least:
        parts.append(f"certainty <= {chooser.certainty(query.at_least)}")
    about = chooser.about(query.parameter, sounds_like=query.sounds_like) if query.parameter else None
    if about is not None:
        parts.append(f"about IN ({', '.join(map(str, about))})")
    wanted = Wanted(tuple(parts), match, tuple(tuple(chooser.labels(name, text)) for name, text in query.fields))
    if not bound:
        return wanted
    known = chooser.dimensions(about) if query.dimension == "" else set()
    if known and "" not in known:
        units = chooser.units(about or ())
        raise InputError(f"values of {query.parameter!r} carry a unit", todo=f"give one with the number (they are told in: {', '.join(units)})")
    bounded = Bounded(search.archive, query, wanted)
    search.notes += bounded.notes()
    return bounded.wanted()

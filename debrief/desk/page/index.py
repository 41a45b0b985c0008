"""The list's entries in memory: every row that stands or was rejected, and every place of the listening list that gave no row.

At 50 000 rows a question about the list is answered from here in some milliseconds; the rows themselves are read from the store, one
page at a time. The index is brought up to date before every answer, from the edits that it has not seen yet, whoever made them.
"""
import json
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from ...records.findings import ListeningItem
from ...records.kinds import KINDS
from ...records.rows import CERTAINTIES
from ...store.codec import row_in
from ...store.search import as_match
from ...store.sessions import SessionStore
from .asked import Filter, Order, RowsQuery

NO_ROW = "no row"
HEARD = "heard by a person"
CHANGED = "changed since you looked"
KEPT_QUESTIONS = 12
LONGEST_PLACE_S = 60.0
"""Longer items are stretches that were searched for something absent: playing them settles no row that happens to lie in them."""
_PLACE_KEY = "heard place "
_COLUMNS = 'c.number, c.kind, c.loop, c.station, c.certainty, c.start_s, c.line_index, c.state, c.mark, c.edit'


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the list. number: of the row, None for a place without one; position: in the listening list; turn: its turn."""

    key: str
    number: int | None
    kind: str
    loop: str
    station: str
    certainty: str
    state: str
    mark: str
    start_s: float | None
    line: int | None
    position: int
    turn: int | None = None


class Found(NamedTuple):
    """A page: all that fit, how many of them come before the page, the entries of the page."""

    total: int
    before: int
    entries: list[Entry]


class _Spot(NamedTuple):
    """A listening item in the sound of one channel, in samples."""

    start: int
    end: int
    position: int


def token_of(store: SessionStore) -> str:
    """Changes whenever anything that the page shows has changed: the store's counter, its last edit, pass, erasure and seal, places heard."""
    kept = {item["key"]: item["value"] for item in store.db.all(
        "SELECT key, value FROM meta WHERE key IN ('revision', 'last edit', 'seal', 'places heard')")}
    seal = json.loads(kept["seal"])["at_utc"] if "seal" in kept else ""
    made = store.db.one("SELECT pass, finished_utc FROM passes WHERE accepted = 1")
    passed = f"{made['pass']} {made['finished_utc'] or ''}" if made else ""
    erased = store.db.one("SELECT max(erasure) AS last FROM erasures")
    return "/".join([passed, kept.get("revision", "0"), kept.get("last edit", ""), kept.get("places heard", ""),
                     str(erased["last"] or "") if erased else "", seal])


class Index:
    """Belongs to the thread of its store."""

    def __init__(self, store: SessionStore) -> None:
        self.store = store
        self.token = ""
        self.items: list[ListeningItem] = []
        self._entries: dict[str, Entry] = {}
        self._orders: dict[Order, list[str]] = {}
        self._ranks: dict[Order, dict[str, int]] = {}
        self._whys: dict[int, set[str]] = {}
        self._edits: dict[int, bool] = {}
        self._pass: int | None = None
        self._asked: dict[str, list[str]] = {}
        self._choices: dict[str, list[tuple[str, int]]] = {}
        self._counts: dict[str, int] = {}
        self.turn_rows: dict[int, list[int]] = {}

    # keeping it up to date

    def refresh(self) -> bool:
        """Takes in what changed since the last call, by us or by others; True when anything did."""
        token = token_of(self.store)
        if token == self.token:
            return False
        edits = {item["edit"]: item["undone_utc"] is not None for item in self.store.db.all("SELECT edit, undone_utc FROM edits")}
        touched = {edit for edit, undone in edits.items() if self._edits.get(edit) != undone}
        old, new = self.token.split("/"), token.split("/")
        if not self.token or (old[0], old[4]) != (new[0], new[4]) or (not touched and old[1] != new[1]):
            self._load()  # the first time, a new pass, an erasure
        else:
            self._take(touched)
            if old[3] != new[3]:
                self._entries |= {entry.key: entry for entry in self._places()}
        self._edits, self.token, self._asked, self._choices, self._counts = edits, token, {}, {}, {}
        return True

    def _load(self) -> None:
        self._pass = self.store.accepted_pass()
        self.items = self.store.listening(self._pass) if self._pass is not None else []
        self._spots = self._placed()
        self._by_number = {item.row: position for position, item in reversed(list(enumerate(self.items))) if item.row is not None}
        self._whys = self._reasons()
        rows = [self._entry(item) for item in self._read("")]
        self._entries = {entry.key: entry for entry in [*rows, *self._places()]}
        self.turn_rows = {}
        for entry in rows:
            if entry.turn is not None:
                self.turn_rows.setdefault(entry.turn, []).append(entry.number or 0)
        self._sort()

    def _take(self, edits: set[int]) -> None:
        """Rows that these edits touched, as they stand now."""
        numbers = sorted({item["number"] for item in self.store.db.all("SELECT edit, number FROM edits") if item["edit"] in edits})
        found: dict[str, Entry] = {}
        for start in range(0, len(numbers), 500):
            some = numbers[start:start + 500]
            found |= {f"r{item['number']}": self._entry(item) for item in self._read(f"WHERE c.number IN ({', '.join('?' * len(some))})", some)}
        gone = [key for key in (f"r{number}" for number in numbers) if key in self._entries and key not in found]
        for key in gone:
            del self._entries[key]
        fresh = [key for key in found if key not in self._entries]
        self._entries |= found
        if gone or fresh:
            self._sort()

    def _read(self, where: str, values: Sequence[int] = ()) -> list[Any]:
        return self.store.db.all(
            f'SELECT {_COLUMNS}, p.recording, p.channel, p.start, p."end", m.turn, CASE WHEN p.part IS NULL THEN c."row" END AS whole '
            'FROM current c LEFT JOIN parts p ON p.pass = ? AND p.number = c.number AND p.part = 0 '
            f'LEFT JOIN machine_rows m ON m.pass = ? AND m.number = c.number {where}', (self._pass, self._pass, *values))

    def _entry(self, item: Any) -> Entry:
        source, span, turn = (item["recording"], item["channel"]), (item["start"], item["end"]), item["turn"]
        if item["whole"] is not None:  # a row that a person made, or one that the last pass did not find again
            row = row_in(item["whole"])
            place, turn = row.place, row.turn
            source = (place.source.recording, place.source.channel) if place.source else (None, None)
            span = (place.span.start, place.span.end) if place.span else (None, None)
        number = item["number"]
        return Entry(f"r{number}", number, item["kind"], item["loop"] or "", item["station"] or "", item["certainty"], item["state"],
                     item["mark"], item["start_s"], item["line_index"], self._position(number, source, span), turn)

    def _placed(self) -> dict[tuple[str, int], list[_Spot]]:
        spots: dict[tuple[str, int], list[_Spot]] = {}
        for position, item in enumerate(self.items):
            if item.part.source is not None and item.part.span is not None and item.part.span.duration_s <= LONGEST_PLACE_S:
                source = (item.part.source.recording, item.part.source.channel)
                spots.setdefault(source, []).append(_Spot(item.part.span.start, item.part.span.end, position))
        return {source: sorted(found) for source, found in spots.items()}

    def _position(self, number: int, source: tuple[Any, Any], span: tuple[Any, Any]) -> int:
        """Where the listening list plays a row: the item named after it, or the one whose sound holds its place; else after all."""
        last = len(self.items)
        own = self._by_number.get(number, last)
        spots = self._spots.get(source, [])
        if span[0] is None or not spots:
            return own
        at = bisect_right(spots, (span[0], 10 ** 15, 0))
        return min([own, *(spot.position for spot in spots[max(0, at - 4):at] if spot.end >= span[1])])

    def _places(self) -> Iterator[Entry]:
        heard = self.heard_places()
        loops = {(item.recording, channel): name for item in self.store.recordings() for channel, name in enumerate(item.loops)}
        for position, item in enumerate(self.items):
            if item.row is None:
                source = (item.part.source.recording, item.part.source.channel) if item.part.source else ("", 0)
                yield Entry(f"p{position}", None, NO_ROW, loops.get(source, ""), "", HEARD if place_key(item) in heard else "",
                            "standing", "", item.part.start_s, item.part.line_index, position)

    def heard_places(self) -> dict[str, dict[str, str]]:
        """Who heard which place that gave no row, by the place's key."""
        return {item["key"]: json.loads(item["value"]) for item in
                self.store.db.all("SELECT key, value FROM meta WHERE key >= ? AND key < ?", (_PLACE_KEY, _PLACE_KEY + "~"))}

    def _reasons(self) -> dict[int, set[str]]:
        whys: dict[int, set[str]] = {}
        for check in self.store.checks(self._pass) if self._pass is not None else []:
            for number in check.rows:
                whys.setdefault(number, set()).add(check.check)
        return whys

    def _sort(self) -> None:
        last = float("inf")
        by_time = sorted(self._entries.values(), key=lambda e: (
            e.start_s if e.start_s is not None else last, e.line if e.line is not None else 0, e.number or 0))
        heard_first = sorted(by_time, key=lambda e: (e.number is None, e.position))  # sorting keeps the order of time within a place
        self._orders = {"time": [entry.key for entry in by_time], "listening": [entry.key for entry in heard_first]}
        self._ranks = {name: {key: rank for rank, key in enumerate(keys)} for name, keys in self._orders.items()}

    # asking

    def whys_of(self, entry: Entry) -> set[str]:
        found = self._whys.get(entry.number or 0, set())
        return {*found, entry.mark} if entry.mark == CHANGED else found

    def find(self, wanted: RowsQuery) -> Found:
        """One page of the entries that fit. An entry that is gone counts as the list's beginning."""
        if wanted.keys:
            named = [self._entries[key] for key in wanted.keys if key in self._entries]
            return Found(len(named), 0, named)
        keys = self._keys(wanted)
        ranks = self._ranks[wanted.order]
        start = 0
        if wanted.after is not None:
            start = bisect_right(keys, ranks.get(wanted.after, -1), key=ranks.__getitem__)
        elif wanted.before is not None:
            start = max(0, bisect_right(keys, ranks.get(wanted.before, 0) - 1, key=ranks.__getitem__) - wanted.limit)
        elif wanted.around is not None:
            start = max(0, bisect_right(keys, ranks.get(wanted.around, 0) - 1, key=ranks.__getitem__) - wanted.limit // 3)
        return Found(len(keys), start, [self._entries[key] for key in keys[start:start + wanted.limit]])

    def _keys(self, wanted: RowsQuery) -> list[str]:
        """Keys of all that fit, in order; kept until something changes, since a list is turned page by page."""
        name = wanted.model_dump_json(exclude={"after", "before", "around", "limit", "keys"})
        if name not in self._asked:
            if len(self._asked) >= KEPT_QUESTIONS:
                self._asked.clear()
            self._asked[name] = [entry.key for entry in self._fitting(wanted, wanted.order)]
        return self._asked[name]

    def fitting_numbers(self, wanted: Filter) -> list[int]:
        """Numbers of the rows that fit, in the order of time."""
        return [entry.number for entry in self._fitting(wanted, "time") if entry.number is not None]

    def _fitting(self, wanted: Filter, order: Order) -> Iterable[Entry]:
        entries = (self._entries[key] for key in self._orders[order])
        kinds, loops, stations = set(wanted.kind), set(wanted.loop), set(wanted.station)
        certainties, whys = set(wanted.certainty), set(wanted.why)
        words = self._with_words(wanted.words) if wanted.words else None
        low, high = wanted.from_s, wanted.to_s
        for entry in entries:
            if ((not kinds or entry.kind in kinds) and (not loops or entry.loop in loops) and (not stations or entry.station in stations)
                    and (not certainties or entry.certainty in certainties) and _is_shown(entry, wanted.shown)
                    and (low is None or (entry.start_s is not None and entry.start_s >= low))
                    and (high is None or (entry.start_s is not None and entry.start_s <= high))
                    and (words is None or entry.number in words) and (not whys or whys & self.whys_of(entry))):
                yield entry

    def _with_words(self, words: str) -> set[int]:
        return {item["rowid"] for item in self.store.db.all("SELECT rowid FROM row_words WHERE row_words MATCH ?", (as_match(words),))}

    def entry(self, key: str) -> Entry | None:
        return self._entries.get(key)

    def around(self, key: str, most: int) -> list[Entry]:
        """Entries before and after one in the order of time, at most so many on either side; without itself."""
        at = self._ranks["time"].get(key)
        if at is None:
            return []
        keys = self._orders["time"]
        return [self._entries[name] for name in (*keys[max(0, at - most):at], *keys[at + 1:at + 1 + most])]

    def choices(self) -> dict[str, list[tuple[str, int]]]:
        """What can be chosen in each filter, and how many entries that stand have it; kept until something changes."""
        self._choices = self._choices or self._counted()
        return self._choices

    def _counted(self) -> dict[str, list[tuple[str, int]]]:
        standing = [entry for entry in self._entries.values() if entry.state == "standing"]
        of = {name: Counter(getattr(entry, name) for entry in standing) for name in ("kind", "loop", "station", "certainty")}
        whys = Counter(why for entry in standing for why in self.whys_of(entry))
        return {"kind": [(kind, of["kind"][kind]) for kind in (*KINDS, NO_ROW) if of["kind"][kind]],
                "loop": sorted((name, count) for name, count in of["loop"].items() if name),
                "station": sorted((name, count) for name, count in of["station"].items() if name),
                "certainty": [(name, of["certainty"][name]) for name in CERTAINTIES if of["certainty"][name]],
                "why": sorted(whys.items())}

    def counts(self) -> dict[str, int]:
        """Rows that stand, how many of them a person heard; places without a row, and how many of those were heard; rows rejected."""
        self._counts = self._counts or self._how_many()
        return self._counts

    def _how_many(self) -> dict[str, int]:
        rows = [entry for entry in self._entries.values() if entry.number is not None]
        places = [entry for entry in self._entries.values() if entry.number is None]
        standing = [entry for entry in rows if entry.state == "standing"]
        return {"rows": len(standing), "heard": sum(entry.certainty == HEARD for entry in standing), "rejected": len(rows) - len(standing),
                "places": len(places), "places_heard": sum(entry.certainty == HEARD for entry in places)}


def _is_shown(entry: Entry, shown: str) -> bool:
    if shown == "left":
        return entry.state == "standing" and entry.certainty != HEARD
    return shown in ("all", entry.state)


def place_key(item: ListeningItem) -> str:
    """A name for a place of the listening list that outlives the pass."""
    part = item.part
    where = f"{part.source.recording}:{part.source.channel}" if part.source else "line"
    span = f"{part.span.start}-{part.span.end}" if part.span else f"{part.line_index}"
    return f"{_PLACE_KEY}{where} {span}"

"""On which line of a TOML file a value stands, which tomllib does not tell.

A scan, not a parser: it knows [tables], [[lists of tables]], `key = value` and lists whose entries each start on a line of their own
with `{`, which is how packs are written. What it cannot place has no line.
"""
import re
from collections.abc import Sequence

Place = tuple[str | int, ...]
_TABLE = re.compile(r"\s*\[([A-Za-z0-9_.\-]+)\]\s*(#.*)?$")
_LISTED = re.compile(r"\s*\[\[([A-Za-z0-9_.\-]+)\]\]\s*(#.*)?$")
_KEY = re.compile(r"\s*([A-Za-z0-9_.\-]+)\s*=\s*(.*)$")


class PackLines:
    """of(place) gives the 1-based line of a place such as ('parts', 3, 'source'), or of the nearest thing that holds it."""

    def __init__(self, text: str) -> None:
        self._lines: dict[Place, int] = {}
        self._counts: dict[str, int] = {}
        self._table: Place = ()
        self._open_list = ""
        for number, line in enumerate(text.splitlines(), 1):
            self._read(line, number)

    def of(self, place: Sequence[str | int]) -> int | None:
        parts = tuple(place)
        while parts and parts not in self._lines:
            parts = parts[:-1]
        return self._lines.get(parts)

    def _read(self, line: str, number: int) -> None:
        if self._open_list:
            self._read_entry(line, number)
        elif found := _LISTED.match(line):
            self._table = self._next(found[1], number)
        elif found := _TABLE.match(line):
            self._table = tuple(found[1].split("."))
            self._lines[self._table] = number
        elif found := _KEY.match(line):
            self._read_key(found[1], found[2], number)

    def _read_key(self, key: str, value: str, number: int) -> None:
        place = (*self._table, *key.split("."))
        self._lines[place] = number
        self._lines.setdefault(place[:-1], number)
        if value.startswith("[") and not self._table:
            self._open_list = key
            self._read_entry(value[1:], number)

    def _read_entry(self, line: str, number: int) -> None:
        text = line.strip()
        if text.startswith("{"):
            self._next(self._open_list, number)
        if text.startswith("]") or text.endswith("]"):
            self._open_list = ""

    def _next(self, name: str, number: int) -> Place:
        index = self._counts.get(name, 0)
        self._counts[name] = index + 1
        self._lines.setdefault((name,), number)
        self._lines[name, index] = number
        return (name, index)

"""On which line of a TOML text each key and table stands: the parser gives values, a person needs lines.

Only asked once something is wrong, and only of text that the TOML parser has accepted; of other text it may say nothing.
"""
import re

Path = tuple[str | int, ...]
_STRING = re.compile(r'"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'', re.DOTALL)
_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)+")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}\n#]*")


def lines_of(text: str) -> dict[Path, int]:
    """Line (from 1) of every key, table and list item, by its path: ('scales', 1, 'low') -> 27."""
    try:
        return _Scan(text).run()
    except (IndexError, RecursionError, ValueError):
        return {}


def nearest_line(lines: dict[Path, int], path: Path) -> int | None:
    """The line of a path, or of the closest part above it that has one."""
    return next((lines[path[:size]] for size in range(len(path), 0, -1) if path[:size] in lines), None)


class _Scan:
    """One walk through the text; at is where it stands."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.lines: dict[Path, int] = {}
        self.lists: dict[Path, int] = {}
        self._counted, self._line = 0, 1

    def run(self) -> dict[Path, int]:
        table: Path = ()
        self._skip(_BLANK)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_BLANK)
        return self.lines

    def _header(self) -> Path:
        brackets = 2 if self.text.startswith("[[", self.at) else 1
        self.at += brackets
        keys = self._keys()
        path: Path = ()
        for position, key in enumerate(keys):
            path = (*path, key)
            if brackets == 2 and position == len(keys) - 1:
                self.lists[path] = self.lists.get(path, -1) + 1
            if path in self.lists:
                path = (*path, self.lists[path])
        self._note(path)
        self.at += brackets
        return path

    def _pair(self, table: Path) -> None:
        path = (*table, *self._keys())
        self._note(path)
        self._expect("=")
        self._skip(_BLANK)
        self._value(path)

    def _value(self, path: Path) -> None:
        opening = self.text[self.at]
        if opening == "[":
            self._list(path)
        elif opening == "{":
            self._inline(path)
        elif opening in "\"'":
            self._match(_STRING)
        else:
            self._skip(_SCALAR)

    def _list(self, path: Path) -> None:
        self.at += 1
        self._skip(_BLANK)
        index = 0
        while self.text[self.at] != "]":
            self._note((*path, index))
            self._value((*path, index))
            index += 1
            self._comma()
        self.at += 1

    def _inline(self, path: Path) -> None:
        self.at += 1
        self._skip(_BLANK)
        while self.text[self.at] != "}":
            self._pair(path)
            self._comma()
        self.at += 1

    def _comma(self) -> None:
        self._skip(_BLANK)
        if self.text[self.at] == ",":
            self.at += 1
            self._skip(_BLANK)

    def _keys(self) -> list[str]:
        keys = []
        while True:
            self._skip(_BLANK)
            quoted = self.text[self.at] in "\"'"
            word = self._match(_STRING if quoted else _BARE)
            keys.append(word[1:-1] if quoted else word)
            self._skip(_BLANK)
            if self.text[self.at] != ".":
                return keys
            self.at += 1

    def _expect(self, character: str) -> None:
        if self.text[self.at] != character:
            raise ValueError(f"{character} expected")
        self.at += 1

    def _match(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if not found or not found.group():
            raise ValueError("not the text of a parsed file")
        self.at = found.end()
        return found.group()

    def _skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self.text, self.at)
        self.at = found.end() if found else self.at

    def _note(self, path: Path) -> None:
        self._line += self.text.count("\n", self._counted, self.at)
        self._counted = self.at
        self.lines.setdefault(path, self._line)

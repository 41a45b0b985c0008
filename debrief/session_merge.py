"""A session file, its campaign and its sheet of cards, read and laid into one: every entry remembers the file and line it came from."""
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from .errors import Fault, SessionFileError
from .session_cards import read_cards
from .session_lines import lines_of, nearest_line
from .small_files import parse_toml, read_small

MOST_BYTES = 8_000_000
Where = tuple[str | int, ...]
_IDENTITY: dict[str, Callable[[dict], object]] = {
    "loops": lambda entry: entry.get("name"), "stations": lambda entry: entry.get("name"),
    "scales": lambda entry: entry.get("name"), "clocks": lambda entry: entry.get("name"),
    "cards": lambda entry: str(entry.get("id")),
    "limits": lambda entry: (entry.get("what"), entry.get("applies_to")),
    "parameters": lambda entry: (entry.get("what"), entry.get("subject")),
    "relations": lambda entry: (entry.get("kind"), entry.get("of")),
    "excluded": lambda entry: entry,  # what a campaign keeps out stays out, whatever the session adds
}
_MAPS = ("units", "poll_words")
_OWN_ONLY = ("recordings", "campaign", "cards_from")


@dataclass(frozen=True, slots=True)
class Source:
    """One file that was read. label: what stands before its paths ('' for the session file itself)."""

    label: str = ""
    text: str = ""

    def line(self, where: Where) -> int | None:
        return nearest_line(_lines_of(self.text), where) if self.text else None


_lines_of = lru_cache(maxsize=4)(lines_of)


@dataclass
class Parts:
    """data: the merged contents; own: the session file; moved: where merged entries really stand; faults met on the way."""

    data: dict[str, Any]
    own: Source = field(default_factory=Source)
    moved: dict[Where, tuple[Source, Where, int | None]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def fault(self, what: str, where: Where, hint: str = "", warning: bool = False) -> Fault:
        """A fault at a place of the merged contents, told by the file and line that it came from."""
        source, place, line = self.own, where, None
        for size in (2, 1):
            if where[:size] in self.moved:
                source, begin, line = self.moved[where[:size]]
                place = (*begin, *where[size:])
                break
        return Fault(what, source.label + dotted(place), line or source.line(place), hint, warning)


def dotted(where: Where) -> str:
    """('scales', 1, 'low') -> 'scales[1].low'; list items count from 0."""
    return "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in where).lstrip(".")


def gather(path: Path) -> Parts:
    """The session file with its campaign and cards. Raises SessionFileError where the session file itself cannot be read."""
    text = _read(path)
    try:
        data = parse_toml(text)
    except tomllib.TOMLDecodeError as error:
        raise SessionFileError("not valid TOML", str(path), "mend that line and run again", [_syntax_fault(error)]) from error
    parts = Parts(data, Source(text=text))
    _lay_in_cards(parts, path.parent)
    _lay_in_campaign(parts, path.parent)
    return parts


_RECORDING_GIVEN = "if it is a recording, `debrief new FOLDER RECORDING` writes a session file for it"


def _read(path: Path) -> str:
    try:
        return read_small(path, MOST_BYTES)
    except UnicodeDecodeError as error:
        raise SessionFileError("not UTF-8 text", str(path), f"save it as UTF-8; {_RECORDING_GIVEN}") from error
    except ValueError as error:
        raise SessionFileError(str(error), str(path), _RECORDING_GIVEN) from error
    except OSError as error:
        raise SessionFileError(f"cannot be read: {error.strerror}", str(path), "check the name and the permissions") from error


def _syntax_fault(error: tomllib.TOMLDecodeError, label: str = "") -> Fault:
    what, _, place = str(error).partition(" (at line ")
    line, _, column = place.rstrip(")").partition(", column ")
    return Fault(what, label, int(line) if line.isdigit() else None, f"column {column}" if column else "")


def _lay_in_campaign(parts: Parts, folder: Path) -> None:
    name = parts.data.get("campaign")
    if not isinstance(name, str):
        return
    label = f"{name}: "
    try:
        text = _read(folder / name)
        shared = parse_toml(text)
    except SessionFileError as error:
        parts.faults.append(parts.fault(f"the campaign file {name} {_said(error)}", ("campaign",), error.todo))
        return
    except tomllib.TOMLDecodeError as error:
        parts.faults.append(_syntax_fault(error, label.strip(": ")))
        return
    source = Source(label, text)
    for key in _OWN_ONLY:
        if shared.pop(key, None) is not None:
            parts.faults.append(Fault("belongs in the session file and is left out here", label + key, source.line((key,)), warning=True))
    for section, given in shared.items():
        _merge(parts, section, given, source)


def _said(error: SessionFileError) -> str:
    return error.what if error.what.startswith("cannot") else f"is {error.what}"


def _merge(parts: Parts, section: str, given: Any, source: Source) -> None:
    own = parts.data.get(section)
    if own is None:
        parts.data[section] = given
        parts.moved[section,] = (source, (section,), None)
    elif section in _MAPS and isinstance(own, dict) and isinstance(given, dict):
        for key in given.keys() - own.keys():
            own[key] = given[key]
            parts.moved[section, key] = (source, (section, key), None)
    elif section in _IDENTITY and isinstance(own, list) and isinstance(given, list):
        _append(parts, section, [(source, (section, index), None, entry) for index, entry in enumerate(given)])


def _append(parts: Parts, section: str, given: list[tuple[Source, Where, int | None, Any]]) -> None:
    """Add entries that the list does not name yet; what stands there already wins."""
    own, identity = parts.data[section], _IDENTITY[section]
    known = {repr(identity(entry)): entry for entry in own if isinstance(entry, dict)}  # what stands there may be any TOML, lists too
    for source, place, line, entry in given:
        if not isinstance(entry, dict) or repr(identity(entry)) not in known:
            parts.moved[section, len(own)] = (source, place, line)
            own.append(entry)
        elif "medical" in entry:  # an entry of the session says more of the same thing; that it is medical stays unless it says so too
            known[repr(identity(entry))].setdefault("medical", entry["medical"])


def _lay_in_cards(parts: Parts, folder: Path) -> None:
    name = parts.data.get("cards_from")
    if not isinstance(name, str):
        return
    sheet = read_cards(folder / name)
    parts.faults += [replace(fault, path=f"{name}: {fault.path}".rstrip(" :")) for fault in sheet.faults]
    if isinstance(parts.data.setdefault("cards", []), list):
        source = Source(f"{name}: ")
        _append(parts, "cards", [(source, ("cards", index), line, card) for index, (card, line) in enumerate(sheet.cards)])

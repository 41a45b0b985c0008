"""What can be wrong in a session file beyond its TOML: wrong types and values, names that point nowhere, limits the wrong way round.

Faults stop the work; warnings are told and the work goes on. Each names its path and line and, where a name is close, the likely one.
"""
import difflib
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from pydantic import BaseModel, ValidationError

from .errors import Fault
from .session_merge import Parts, Where
from .session_model import Session, base_name, names_of

MOST_FAULTS = 100
"""Of one kind that are worked out and told: whoever mends these gives the command again."""
LONGEST_TEXT = 4_000
"""Characters of a name or a sentence in a session file; what matches names word by word would take hours over a longer one."""
_BARRIERS = {"excluded": 0.65, "medical": 0.75}
"""Keys that keep something in; one that is this like them, and is not known, would let it out without a word."""

_HINTS = {
    "missing": "this key is required", "float_type": "write a number, without quotes", "int_type": "write a whole number",
    "string_type": 'write text in quotes, such as "Winch"', "bool_type": "write true or false", "tuple_type": "write a list in [ ]",
    "dict_type": "write a table", "model_type": "write a table", "model_attributes_type": "write a table",
    "datetime_type": "write a date and time, such as 2031-05-14T13:58:20+02:00",
}


def shape_faults(parts: Parts) -> tuple[Session, list[Fault]]:
    """The session read from merged parts, and what is wrong in shape.

    Entries with a fault are left out of the session, so that the rest can still be looked at and told in the same report.
    """
    faults: list[Fault] = []
    data = parts.data
    for _ in range(2):
        try:
            return Session.model_validate(data), faults
        except ValidationError as error:
            faults += [_shape_fault(item, parts) for item in error.errors()[:MOST_FAULTS]]
            data = {key: value for key, value in data.items() if key not in {item["loc"][0] for item in error.errors()}}
    return Session(), faults


def _shape_fault(item: Any, parts: Parts) -> Fault:
    where: Where = tuple(part for part in item["loc"] if isinstance(part, int) or not str(part).startswith("function-"))
    what = str(item["msg"]).removeprefix("Value error, ")
    hint = _HINTS.get(item["type"], "")
    if item["type"] == "missing":
        what, hint = f"{where[-1]!r} is missing", _likely_meant(str(where[-1]), item["input"]) or hint
        where = where[:-1]
    return parts.fault(what[:1].lower() + what[1:], where, hint)


def _likely_meant(key: str, given: Any) -> str:
    """For a key that is missing: the key there that was likely meant to be it."""
    close = difflib.get_close_matches(key, [str(name) for name in given] if isinstance(given, dict) else [], 1)
    return f"is {close[0]!r} meant to be it?" if close else ""


def cross_faults(session: Session, parts: Parts) -> list[Fault]:
    """Faults and warnings that need more than one entry, or more than one key, to be seen."""
    finders = (_long, _reversed, _relations, _twice, _unknown_loops, _unknown_stations, _unknown_scales, _names, _starts, _clocks, _excluded,
               _changes, _poll_words, _misspelt_barriers)
    return [fault for find in finders for fault in islice(find(session, parts), MOST_FAULTS)]


def _long(_: Session, parts: Parts) -> Iterator[Fault]:
    waiting: list[tuple[Where, Any]] = [((), parts.data)]
    while waiting:
        where, value = waiting.pop()
        if isinstance(value, dict):
            waiting += [((*where, key), item) for key, item in value.items()]
        elif isinstance(value, list):
            waiting += [((*where, index), item) for index, item in enumerate(value)]
        elif isinstance(value, str) and len(value) > LONGEST_TEXT:
            yield parts.fault(f"a text of {len(value):,} characters", where, f"write at most {LONGEST_TEXT:,}")


def _reversed(session: Session, parts: Parts) -> Iterator[Fault]:
    for index, scale in enumerate(session.scales):
        if scale.low >= scale.high:
            yield parts.fault(f"the scale {scale.name!r} runs from {scale.low:g} to {scale.high:g}", ("scales", index, "low"),
                              "low must be below high; are they swapped?")
        elif scale.best is not None and not scale.low <= scale.best <= scale.high:
            yield parts.fault(f"best = {scale.best:g} lies off the scale {scale.name!r}", ("scales", index, "best"),
                              f"give a value from {scale.low:g} to {scale.high:g}")
    for index, limit in enumerate(session.limits):
        if limit.min is not None and limit.max is not None and limit.min > limit.max:
            yield parts.fault(f"the limits of {limit.what!r} are reversed: min {limit.min:g}, max {limit.max:g}",
                              ("limits", index, "min"), "min must not be above max; are they swapped?")
        if limit.min is None and limit.max is None:
            yield parts.fault(f"the limit of {limit.what!r} has neither min nor max", ("limits", index), "give one of them", True)
    for index, stretch in enumerate(session.excluded):
        if stretch.from_s is not None and stretch.to_s is not None and stretch.from_s >= stretch.to_s:
            yield parts.fault(f"the excluded stretch runs from {stretch.from_s:g} to {stretch.to_s:g} s", ("excluded", index, "from_s"),
                              "from_s must be below to_s; are they swapped?")


def _relations(session: Session, parts: Parts) -> Iterator[Fault]:
    for index, relation in enumerate(session.relations):
        needs = {"dew point": len(relation.from_) == 2, "sum": len(relation.from_) > 1}
        if not needs.get(relation.kind, True):
            yield parts.fault(f"the relation of {relation.of!r} has too few or too many parts", ("relations", index, "from"),
                              "dew point: temperature and humidity, in this order; sum: two parts or more")


def _twice(session: Session, parts: Parts) -> Iterator[Fault]:
    named: list[tuple[str, list[str]]] = [
        ("loops", [loop.name for loop in session.loops]), ("stations", [station.name for station in session.stations]),
        ("scales", [scale.name for scale in session.scales]), ("cards", [card.id for card in session.cards]),
        ("clocks", [clock.name for clock in session.clocks]), ("recordings", [entry.file for entry in session.recordings])]
    for section, names in named:
        seen: Counter[str] = Counter()
        for index, name in enumerate(names):
            seen[name.casefold()] += 1
            if seen[name.casefold()] == 2:
                yield parts.fault(f"{name!r} stands twice", (section, index), "give each its own name")
    for index, card in enumerate(session.cards):
        for step, count in Counter(step.id.casefold() for step in card.steps).items():
            if count > 1:
                yield parts.fault(f"step {step!r} stands {count} times on card {card.id!r}", ("cards", index, "steps"),
                                  "give each step its own id")


def _near(name: str, known: Iterable[str]) -> str:
    names = list(known)
    lowered = {item.casefold(): item for item in names}
    close = difflib.get_close_matches(name.casefold(), list(lowered), 1)
    if close:
        return f"did you mean {lowered[close[0]]!r}?"
    return f"known: {', '.join(names)}" if names else ""


def _unknown_loops(session: Session, parts: Parts) -> Iterator[Fault]:
    known = [loop.name for loop in session.loops]
    if not known:
        return
    used = [(("recordings", i, "channels"), name) for i, entry in enumerate(session.recordings) for name in entry.channels if name]
    used += [(("stations", i, "loops"), name) for i, station in enumerate(session.stations) for name in station.loops]
    used += [(("excluded", i, "loop"), item.loop) for i, item in enumerate(session.excluded) if item.loop]
    for where, name in used:
        if session.loop(name) is None:
            yield parts.fault(f"no loop is named {name!r}", where, _near(name, known))


def _unknown_stations(session: Session, parts: Parts) -> Iterator[Fault]:
    if not session.stations:
        return
    known = [station.name for station in session.stations]
    used: list[tuple[Where, str]] = [(("changes", i, "station"), change.station) for i, change in enumerate(session.changes)]
    used += [(("cards", i, "ratings", j, "by"), name) for i, card in enumerate(session.cards)
             for j, rating in enumerate(card.ratings) for name in rating.by]
    for where, name in used:
        if session.station(name) is None:
            yield parts.fault(f"no station is named {name!r}", where, _near(name, known), True)
    seen: dict[str, str] = {}
    for index, station in enumerate(session.stations):
        for name in names_of(station):
            if seen.setdefault(name, station.name) != station.name:
                yield parts.fault(f"{name!r} names both {seen[name]!r} and {station.name!r}", ("stations", index),
                                  "one name must mean one station", True)


def _unknown_scales(session: Session, parts: Parts) -> Iterator[Fault]:
    known = [scale.name for scale in session.scales]
    for i, card in enumerate(session.cards):
        for j, rating in enumerate(card.ratings):
            if rating.scale and known and rating.scale.casefold() not in {name.casefold() for name in known}:
                yield parts.fault(f"no scale is named {rating.scale!r}", ("cards", i, "ratings", j, "scale"), _near(rating.scale, known))


def _names(session: Session, parts: Parts) -> Iterator[Fault]:
    for section in ("loops", "stations", "scales", "clocks"):
        for index, entry in enumerate(getattr(session, section)):
            if not entry.name.strip():
                yield parts.fault("an empty name", (section, index, "name"), "give it a name")
            elif not entry.name.isprintable():
                yield parts.fault(f"{entry.name!r} holds characters that cannot be shown", (section, index, "name"), "write it on one line")
    for index, file in enumerate(entry.file for entry in session.recordings):
        if "://" in file:
            yield parts.fault(f"{file!r} is an address, not a file", ("recordings", index, "file"),
                              "recordings are files on this machine; fetch it first")
        elif not file.strip():
            yield parts.fault("an empty file name", ("recordings", index, "file"), "name the sound file")


def _starts(session: Session, parts: Parts) -> Iterator[Fault]:
    stamped = [(index, entry.start) for index, entry in enumerate(session.recordings) if entry.start is not None]
    plain = [index for index, start in stamped if start.tzinfo is None]
    if plain and len(plain) < len(stamped):
        yield parts.fault("some starts have a time zone and this one has none", ("recordings", plain[0], "start"),
                          "add it, such as +02:00 or Z")
    else:
        for index in plain:
            yield parts.fault("the start has no time zone, so no UTC can be told", ("recordings", index, "start"),
                              "add one, such as +02:00 or Z", True)


def _excluded(session: Session, parts: Parts) -> Iterator[Fault]:
    """A misspelt exclusion would let sound through that somebody wants kept out: faults, never warnings."""
    files = [base_name(entry.file) for entry in session.recordings]
    for index, item in enumerate(session.excluded):
        if item.recording is None and item.loop is None and item.from_s is None and item.to_s is None:
            yield parts.fault("names nothing to exclude", ("excluded", index), "give recording, loop, from_s or to_s")
        if files and item.recording is not None and base_name(item.recording) not in files:
            yield parts.fault(f"no recording is named {item.recording!r}", ("excluded", index, "recording"), _near(item.recording, files))
        channels = [name for entry in session.recordings for name in entry.channels if name]
        known = [*channels, *(loop.name for loop in session.loops), *(loop.code for loop in session.loops if loop.code)]
        if files and not session.loops and item.loop is not None and item.loop.casefold() not in {name.casefold() for name in known}:
            yield parts.fault(f"no channel is said to hold the loop {item.loop!r}", ("excluded", index, "loop"), _near(item.loop, known)
                              or "name the loops of each recording's channels")


def _misspelt_barriers(session: Session, parts: Parts) -> Iterator[Fault]:
    """What is left out as unknown warns only; a key that was to keep sound or values in is a fault."""
    for place, key, _ in _extras(session, ()):
        near = [known for known, like in _BARRIERS.items()
                if key.casefold().startswith(known[:5]) or difflib.SequenceMatcher(None, key.casefold(), known).ratio() >= like]
        if near:
            yield parts.fault("unknown key", (*place, key), f"did you mean {near[0]!r}? it would keep nothing in as it stands")


def _changes(session: Session, parts: Parts) -> Iterator[Fault]:
    for index, change in enumerate(session.changes):
        if change.at_s is None and change.at is None:
            yield parts.fault(f"the change at {change.station!r} has no time", ("changes", index), "give at_s or at")


def _poll_words(session: Session, parts: Parts) -> Iterator[Fault]:
    words = session.poll_words
    for name, others in (("no_go", words.go), ("stand_by", (*words.go, *words.no_go))):
        taken = {word.casefold() for word in others}
        for word in getattr(words, name):
            if word.casefold() in taken:
                yield parts.fault(f"{word!r} would mean two answers", ("poll_words", name), "give each answer words of its own")


def _clocks(session: Session, parts: Parts) -> Iterator[Fault]:
    known = [clock.name for clock in session.clocks]
    for index, clock in enumerate(session.clocks):
        if clock.counts not in ("up", "down"):
            yield parts.fault(f"counts = {clock.counts!r}", ("clocks", index, "counts"), 'write "up" or "down"')
        if clock.limit_s is not None and clock.limit_min is not None and clock.limit_s != 60 * clock.limit_min:
            yield parts.fault(f"limit_s = {clock.limit_s:g} and limit_min = {clock.limit_min:g} differ", ("clocks", index, "limit_min"),
                              "keep one of them")
        if clock.from_ and clock.from_.casefold() not in {name.casefold() for name in known}:
            yield parts.fault(f"no clock is named {clock.from_!r}", ("clocks", index, "from"), _near(clock.from_, known), True)


def unknown_keys(session: Session, parts: Parts) -> list[Fault]:
    """A warning for each key that the tool does not know, with the nearest one it knows."""
    return [_unknown(where, key, known, parts) for where, key, known in islice(_extras(session, ()), MOST_FAULTS)]


def _unknown(where: Where, key: str, known: list[str], parts: Parts) -> Fault:
    close = difflib.get_close_matches(key, known, 1)
    return parts.fault("unknown key, left out", (*where, key), f"did you mean {close[0]!r}?" if close else "", True)


def _extras(part: BaseModel, where: Where) -> Iterator[tuple[Where, str, list[str]]]:
    """Every key that the tool does not know: where it stands, its name, and the names that are known there."""
    known = [info.alias or name for name, info in type(part).model_fields.items()]
    yield from ((where, key, known) for key in part.model_extra or {})
    for name, info in type(part).model_fields.items():
        value, key = getattr(part, name), info.alias or name
        if isinstance(value, BaseModel):
            yield from _extras(value, (*where, key))
        elif isinstance(value, tuple):
            for index, item in enumerate(value):
                if isinstance(item, BaseModel):
                    yield from _extras(item, (*where, key, index))

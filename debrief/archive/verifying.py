"""Is the archive sound, and does it still hold what its sessions hold?"""
import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import DebriefError
from .reading import Header, header_digest, pieces_of, read_header, read_piece, stamp_of
from .shape import Archive


@dataclass(frozen=True, slots=True)
class Finding:
    """where: a session's title or 'the archive'; says: what is wrong; serious: the archive itself is damaged."""

    where: str
    says: str
    serious: bool = False


def verify(archive: Archive, *, read_all: bool = False, watch: Callable[[str, float, float], None] | None = None) -> Iterator[Finding]:
    """The file's own integrity, the word indexes against the texts, the ranges of ids, and every session against its store.

    read_all: stores are read anew and their contents compared, even where their files look untouched.
    """
    yield from (Finding("the archive", fault, True) for fault in archive.integrity_faults())
    yield from _indexes(archive)
    yield from _ranges(archive)
    sessions = archive.all("SELECT * FROM sessions ORDER BY session")
    for position, item in enumerate(sessions):
        found = _against_store(item, read_all)
        if found:
            yield Finding(item["title"] or item["path"], found)
        if watch:
            watch("verifying sessions", position + 1, len(sessions))


def _indexes(archive: Archive) -> Iterator[Finding]:
    for index, what in (("turn_words", "the talk"), ("row_words", "rows")):
        try:
            with archive.writing():
                archive.run(f"INSERT INTO {index} ({index}, rank) VALUES ('integrity-check', 1)")
        except DebriefError:
            yield Finding("the archive", f"the word index does not fit the words of {what}; remove the archive and add the sessions again", True)


def _ranges(archive: Archive) -> Iterator[Finding]:
    for table, first, end in (("turns", "first_turn", "end_turn"), ("rows", "first_row", "end_row")):
        wrong = archive.all(f"SELECT title, path FROM sessions AS s WHERE (SELECT count(*) FROM {table} WHERE id >= s.{first} AND id < s.{end} "
                            f"AND session = s.session) <> s.{end} - s.{first}")
        yield from (Finding(item["title"] or item["path"], f"{table} are missing", True) for item in wrong)
        lost = archive.one(f"SELECT count(*) AS n FROM {table} WHERE session NOT IN (SELECT session FROM sessions)")
        if lost and lost["n"]:
            yield Finding("the archive", f"{lost['n']} {table} belong to no session", True)


def _against_store(item: Any, read_all: bool) -> str:
    file = Path(item["path"])
    if not file.is_file():
        return f"its store is not at hand ({file}); it can be searched, but not compared"
    if not read_all and stamp_of(file) == item["stamp"]:
        return ""
    try:
        header = read_header(file)
        same = contents_of(header) == item["contents"]
    except DebriefError as error:
        return f"its store cannot be read: {error.what}"
    return "" if same else "its store has changed since; add it again"


def contents_of(header: Header) -> str:
    """The address of a session's contents, read from its store. Raises DebriefError."""
    digest = hashlib.sha256(header_digest(header).encode())
    recordings = {item.recording: position for position, item in enumerate(header.recordings)}
    for part in pieces_of(header):
        piece = read_piece(header.path, header.pass_number, recordings, part)
        if piece.problem:
            raise DebriefError(piece.problem, str(header.path))
        digest.update(piece.digest.encode())
    return digest.hexdigest()



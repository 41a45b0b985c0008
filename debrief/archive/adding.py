"""Sessions into the archive: many readers, one writer, one transaction a session. Stopped at any moment, the same call goes on.

A store whose file is as it was is not read again. Read again, it is known by its contents: a copy in another folder is already there. The same
recordings with other contents take the place of the older reading where they come from the same store, or where that store is gone;
from another store only when asked for, since somebody's edits may be in it.
"""
import multiprocessing
import signal
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import nullcontext
from dataclasses import dataclass, field
from pathlib import Path

from ..errors import DebriefError, InputError, StoreError
from ..store.database import FILE_NAME
from ..store.opening import as_written, find_store
from ..store.sessions import SessionStore
from .plain import plain
from .reading import Header, Piece, pieces_of, read_header, read_piece, stamp_of, state_of
from .shape import Archive
from .writing import Entry, Known, Writer, clean, known, take_out, tidy

Watch = Callable[[str, float, float], None]
TIDY_FROM = 50
"""So many new sessions at once, and the word index is put in order at the end."""


def _silent(_what: str, _done: float, _whole: float) -> None:
    """For callers that watch nothing."""


@dataclass(frozen=True, slots=True)
class AddSettings:
    """readers: processes that read stores; 1 reads in this one. replace: a store may take the place of another one of the same recordings."""

    readers: int = 1
    replace: bool = False
    watch: Watch = field(default=_silent)


@dataclass(frozen=True, slots=True)
class Outcome:
    """what: added, replaced, already there, set aside; why: for what was set aside."""

    path: Path
    what: str
    why: str = ""
    turns: int = 0
    rows: int = 0


def find_stores(given: Sequence[Path]) -> list[Path]:
    """Every session store in the files and folders given, each once. Raises StoreError for a path with none."""
    found: dict[Path, None] = {}
    for path in given:
        inside = sorted(path.rglob(FILE_NAME)) if path.is_dir() else []
        for file in inside or [find_store(path)]:
            found.setdefault(file.resolve())
    return list(found)


def add(archive: Archive, given: Sequence[Path], settings: AddSettings = AddSettings()) -> Iterator[Outcome]:
    """Adds every store; tells of each when it is in the file. A store that cannot be read is set aside, and the others go on."""
    stores, new, erased = find_stores(given), 0, False
    writer = Writer(archive)
    with _pool(settings.readers) as pool:
        for position, file in enumerate(stores):
            outcome, forgets = _one(writer, file, settings, pool)
            new += outcome.what in ("added", "replaced")
            erased = erased or forgets
            settings.watch("adding sessions", position + 1, len(stores))
            yield outcome
    if erased:
        clean(archive)
    elif new >= TIDY_FROM:
        tidy(archive)


def _pool(readers: int) -> "ProcessPoolExecutor | nullcontext[None]":
    if readers <= 1:
        return nullcontext()
    return ProcessPoolExecutor(readers, mp_context=multiprocessing.get_context("spawn"), initializer=_leave_stopping_to_the_writer)


def _leave_stopping_to_the_writer() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _one(writer: Writer, file: Path, settings: AddSettings, pool: ProcessPoolExecutor | None) -> tuple[Outcome, bool]:
    """What became of one store, and whether what it replaced must not be left in free pages."""
    try:
        earlier = known(writer.archive, path=str(file))
        if earlier is not None and earlier.stamp == stamp_of(file):
            return Outcome(file, "already there"), False
        with as_written(file):
            header = read_header(file)
            older = known(writer.archive, path=str(header.path.resolve()), same=header.same)
            return _enter(writer, header, older, (_pieces(header, settings.readers, pool), settings.replace))
    except DebriefError as error:
        return Outcome(file, "set aside", error.what), False


def _may_replace(header: Header, older: Known) -> None:
    """InputError where the older reading came from another store that is still there."""
    if older.path != str(header.path.resolve()) and Path(older.path).exists():
        raise InputError(f"the same recordings are in the archive already, from {older.path}; --replace takes this store instead")


def _enter(writer: Writer, header: Header, older: Known | None, given: tuple[Iterator[Piece], bool]) -> tuple[Outcome, bool]:
    """given: the session's pieces, and whether it may replace what came from another store."""
    pieces, replaces = given
    try:
        with writer.archive.writing():
            entry = Entry(writer, header)
            for piece in pieces:
                if piece.problem:
                    raise StoreError(piece.problem, str(header.path))
                entry.take(piece)
            with SessionStore.open(header.path, read_only=True) as store:
                if state_of(store) != header.state:
                    raise StoreError("the store changed while it was read; add it again", str(header.path))
            if known(writer.archive, contents=entry.contents):
                raise _AlreadyThere
            if older is not None:
                if not replaces:
                    _may_replace(header, older)
                take_out(writer.archive, older.session)
            entry.end()
    except _AlreadyThere:
        writer.forget()
        _note_stamp(writer.archive, entry.contents, header)
        return Outcome(header.path, "already there"), False
    except BaseException:
        writer.forget()
        raise
    what = "added" if older is None else "replaced"
    return (Outcome(header.path, what, turns=entry.end_turn - entry.first_turn, rows=entry.end_row - entry.first_row),
            older is not None and header.erasures > older.erasures)


class _AlreadyThere(Exception):
    pass


def _note_stamp(archive: Archive, contents: str, header: Header) -> None:
    with archive.writing():
        archive.run("UPDATE sessions SET stamp = ? WHERE contents = ? AND path = ?", (header.stamp, contents, str(header.path.resolve())))


def _pieces(header: Header, readers: int, pool: ProcessPoolExecutor | None) -> Iterator[Piece]:
    """The pieces of a session in order; with a pool a few are read ahead, never the whole session."""
    recordings = {item.recording: position for position, item in enumerate(header.recordings)}
    given = (header.path, header.pass_number, recordings)
    if pool is None:
        yield from (read_piece(*given, piece) for piece in pieces_of(header))
        return
    ahead: deque[Future[Piece]] = deque()
    try:
        for piece in pieces_of(header):
            ahead.append(pool.submit(read_piece, *given, piece))
            if len(ahead) > 2 * readers:
                yield ahead.popleft().result()
        while ahead:
            yield ahead.popleft().result()
    except BrokenProcessPool as error:
        raise StoreError("a reading process ended by itself", str(header.path), "add again; what was finished is kept") from error
    finally:
        for waiting in ahead:
            waiting.cancel()


def remove(archive: Archive, given: Sequence[str], *, for_good: bool = False) -> list[str]:
    """Takes sessions out, named by number, title or path; returns their titles. for_good: nothing is left in free pages."""
    chosen = [item for name in given for item in sessions_named(archive, name)]
    for item in chosen:
        with archive.writing():
            take_out(archive, item["session"])
    if for_good:
        clean(archive)
    return [item["title"] or item["path"] for item in chosen]


def sessions_named(archive: Archive, name: str, *, in_part: bool = False) -> list:
    """Sessions by number, by title (case does not count) or by the path of store or folder; in_part: else by words that are in the title.

    InputError where there is none.
    """
    found = archive.all("SELECT * FROM sessions ORDER BY session")
    path = str(Path(name).resolve())
    fits = [item for item in found if name in (str(item["session"]), item["path"]) or name.casefold() == item["title"].casefold()
            or path in (item["path"], str(Path(item["path"]).parent))]
    if not fits and in_part and (words := set(plain(name).split())):
        fits = [item for item in found if words <= set(plain(item["title"]).split())]
    if not fits:
        raise InputError(f"the archive holds no session {name!r}", todo="`debrief archive list ARCHIVE` shows numbers, titles and paths")
    return fits

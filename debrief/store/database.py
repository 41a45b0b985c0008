"""One SQLite file: opened, guarded, migrated; every failure of the file told as a StoreError.

Several processes may hold one store: write-ahead log, a busy timeout, and every write in one immediate transaction. A connection
belongs to one thread. A run holds a lock of its own beside the store (locks.py), so that two runs cannot write one session.

A file may come from a stranger: what would act by itself in it (triggers, views in the place of tables) is refused before anything is read
or written, and so are pipes and links in the places where SQLite keeps its log.
"""
import os
import sqlite3
import stat
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, ClassVar, Self

from ..errors import StoreError
from .schema import APPLICATION_ID, MIGRATIONS

FILE_NAME = "debrief.sqlite"
FILE_ENDINGS = (".sqlite", ".db")
BUSY_TIMEOUT_S = 10.0
_EFFECTIVE = os.access in os.supports_effective_ids

_TOLD: dict[int, tuple[str, str]] = {
    sqlite3.SQLITE_FULL: ("the disk is full", "make room and run again; everything confirmed before this moment is kept"),
    sqlite3.SQLITE_BUSY: ("the {thing} is locked by another run", "wait for the other run to end, or end it, and try again"),
    sqlite3.SQLITE_LOCKED: ("the {thing} is locked by another run", "wait for the other run to end, or end it, and try again"),
    sqlite3.SQLITE_READONLY: ("no permission to write the {thing}", "give yourself write permission on the file and its folder"),
    sqlite3.SQLITE_PERM: ("no permission to write the {thing}", "give yourself write permission on the file and its folder"),
    sqlite3.SQLITE_CANTOPEN: ("the {thing} cannot be opened", "check that the folder exists and that you may write in it"),
    sqlite3.SQLITE_IOERR: ("reading or writing the {thing} failed", "check the drive (is it still connected?) and run again"),
    sqlite3.SQLITE_CORRUPT: ("the {thing} is damaged", "bring it back from a copy, or run again in a new folder"),
    sqlite3.SQLITE_NOTADB: ("not {whole}", "{give}"),
}


@dataclass(frozen=True, slots=True)
class Sort:
    """What a kind of file is: how it is told apart (SQLite's application id), how an older one becomes a newer one, and how it is spoken of.

    thing: short ('store'); whole: with its article ('a session store'); give: what to give instead of a file of another sort.
    """

    application_id: int
    migrations: tuple[str, ...]
    thing: str
    whole: str
    give: str

    @property
    def version(self) -> int:
        return len(self.migrations)


STORE = Sort(APPLICATION_ID, MIGRATIONS, "store", "a session store", "give the store or the folder that 'debrief run' wrote")


def store_file(path: Path) -> Path:
    """The store's file for a path that is the file itself or the folder that holds it (or will hold it)."""
    try:
        return path if path.is_file() or path.suffix in FILE_ENDINGS else path / FILE_NAME
    except OSError as error:
        raise StoreError(f"cannot be reached: {error.strerror}", str(path), "check the drive and your permission on the folder") from error


def make_folder(folder: Path) -> None:
    """Makes a folder, and those above it, where there is none. Raises StoreError."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"cannot make the folder: {error.strerror}", str(folder), "choose another folder") from error


def _is_there(file: Path) -> bool:
    try:
        return file.is_file()
    except OSError as error:
        raise StoreError(f"cannot be reached: {error.strerror}", str(file), "check the drive and your permission on the folder") from error


@contextmanager
def told(path: Path, sort: Sort = STORE) -> Iterator[None]:
    """Turns SQLite's errors into StoreErrors that say what to do."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        code = getattr(error, "sqlite_errorcode", None)
        if code is None or isinstance(error, sqlite3.IntegrityError | sqlite3.ProgrammingError) or code & 0xFF not in _TOLD:
            raise
        what, todo = (text.format(thing=sort.thing, whole=sort.whole, give=sort.give) for text in _TOLD[code & 0xFF])
        raise StoreError(what, str(path), todo) from error


def reading_mode(file: Path) -> str:
    """How a file is opened to be read alone."""
    # a folder that cannot be written gives no room for the log's index; without a log the file is all there is
    whole = not _is_there(file.with_name(file.name + "-wal")) and not os.access(file.parent, os.W_OK, effective_ids=_EFFECTIVE)
    return "ro&immutable=1" if whole else "ro"


class Database:
    """A connection to one file of a sort. Rows come back as sqlite3.Row."""

    sort: ClassVar[Sort] = STORE

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path, self.connection = path, connection
        self._depth = 0

    @classmethod
    def create(cls, path: Path) -> Self:
        """Opens the store, making file and folder if there are none. Raises StoreError."""
        file = store_file(path)
        make_folder(file.parent)
        return cls._ready(file, "rwc")

    @classmethod
    def open(cls, path: Path, *, read_only: bool = False) -> Self:
        """Opens a store that exists; an older one is brought up to date unless read_only. Raises StoreError."""
        file = store_file(path)
        if not _is_there(file):
            raise StoreError("no session store here", str(file), "run 'debrief run SESSION --out DIR' first")
        return cls._ready(file, reading_mode(file) if read_only else "rw")

    @classmethod
    def _ready(cls, file: Path, mode: str) -> Self:
        _refuse_odd_neighbours(file)
        with told(file, cls.sort):
            connection = sqlite3.connect(f"{file.absolute().as_uri()}?mode={mode}", uri=True, timeout=BUSY_TIMEOUT_S,
                                         isolation_level=None)
            connection.row_factory = sqlite3.Row
            database = cls(file, connection)
            try:
                database._prepare(mode)
            except BaseException:
                connection.close()
                raise
        return database

    def _prepare(self, mode: str) -> None:
        self._check_identity()
        if mode.startswith("ro"):
            if self.version < self.sort.version:
                raise StoreError(f"the {self.sort.thing} is of version {self.version}, older than this program's {self.sort.version}",
                                 str(self.path), "open it once with write permission, so that it can be brought up to date")
            return
        self.connection.execute("PRAGMA journal_mode = WAL")
        self.connection.execute("PRAGMA synchronous = FULL")
        self.connection.execute("PRAGMA foreign_keys = ON")
        self.connection.execute("PRAGMA secure_delete = ON")
        self._migrate()

    @property
    def version(self) -> int:
        return int(self.connection.execute("PRAGMA user_version").fetchone()[0])

    def _check_identity(self) -> None:
        sort, identity = self.sort, self.connection.execute("PRAGMA application_id").fetchone()[0]
        empty = not self.connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        if identity != sort.application_id and not (empty and identity == 0 and self.version == 0):
            raise StoreError(f"not {sort.whole}", str(self.path), sort.give)
        if self.version > sort.version:
            raise StoreError(f"the {sort.thing} is of version {self.version}; this program knows versions up to {sort.version}",
                             str(self.path), "use the newer program that wrote it")
        ours = _acting_parts(sort.migrations)
        acting = self.connection.execute("SELECT type, name, sql FROM sqlite_master WHERE type IN ('trigger', 'view')")
        for kind, name, sql in acting.fetchall():
            if sql not in ours:
                raise StoreError(f"not {sort.whole} as this program makes it: it holds a {kind} of its own ({name!r}), which could act by itself",
                                 str(self.path), f"take it from whoever made the {sort.thing} itself, or do without it")

    def _migrate(self) -> None:
        sort = self.sort
        if self.version == sort.version:
            return
        with self.writing():
            for version in range(self.version, sort.version):  # read again: another process may have been quicker
                for statement in complete_statements(sort.migrations[version]):
                    self.connection.execute(statement)
            self.connection.execute(f"PRAGMA application_id = {sort.application_id}")
            self.connection.execute(f"PRAGMA user_version = {sort.version}")

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One immediate transaction: all of it or nothing; calls inside one another join the outer one."""
        with told(self.path, self.sort):
            if self._depth:
                yield
                return
            self.connection.execute("BEGIN IMMEDIATE")
            self._depth = 1
            try:
                yield
                self.connection.execute("COMMIT")
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise
            finally:
                self._depth = 0

    def all(self, sql: str, values: Sequence[Any] = ()) -> list[sqlite3.Row]:
        with told(self.path, self.sort):
            return self.connection.execute(sql, values).fetchall()

    def each(self, sql: str, values: Sequence[Any] = ()) -> Iterator[sqlite3.Row]:
        """Rows one by one, for a reader that may stop early."""
        with told(self.path, self.sort):
            yield from self.connection.execute(sql, values)

    def one(self, sql: str, values: Sequence[Any] = ()) -> sqlite3.Row | None:
        with told(self.path, self.sort):
            return self.connection.execute(sql, values).fetchone()

    def run(self, sql: str, values: Sequence[Any] = ()) -> int:
        """Runs one statement inside the transaction; returns the last row id."""
        return self.connection.execute(sql, values).lastrowid or 0

    def run_many(self, sql: str, rows: Sequence[Sequence[Any]]) -> None:
        try:
            self.connection.executemany(sql, rows)
        except UnicodeEncodeError:  # half a surrogate pair from a hostile transcript; the statements so far are replaced
            self.connection.executemany(sql.replace("INSERT INTO", "INSERT OR REPLACE INTO"), [_encodable(row) for row in rows])

    def insert(self, table: str, rows: Sequence[dict[str, Any]], *, replacing: bool = False) -> None:
        """Inserts rows with the same keys; keys are column names of ours, never text from outside."""
        if rows:
            names = ", ".join(f'"{name}"' for name in rows[0])
            marks = ", ".join("?" * len(rows[0]))
            verb = "INSERT OR REPLACE" if replacing else "INSERT"
            self.run_many(f"{verb} INTO {table} ({names}) VALUES ({marks})", [tuple(row.values()) for row in rows])

    def integrity_faults(self) -> list[str]:
        """What SQLite's own integrity and foreign key checks find; empty for a sound store."""
        found = [row[0] for row in self.all("PRAGMA integrity_check") if row[0] != "ok"]
        return found + [f"{row[0]} points at a missing {row[2]}" for row in self.all("PRAGMA foreign_key_check")]

    def close(self) -> None:
        self.connection.close()


def _refuse_odd_neighbours(file: Path) -> None:
    """SQLite waits for ever on a pipe in the place of its log. Raises StoreError."""
    for ending in ("-wal", "-shm", "-journal"):
        beside = file.with_name(file.name + ending)
        try:
            mode = beside.lstat().st_mode
        except OSError:
            continue  # nothing there, or nothing that can be seen: then the file itself tells
        if not stat.S_ISREG(mode):
            raise StoreError("not a plain file, where a database keeps its log", str(beside), "move it away, and ask where this folder comes from")


@cache
def _acting_parts(migrations: tuple[str, ...]) -> frozenset[str]:
    """The text of every view and trigger that files of this sort hold, whatever their version."""
    found = set[str]()
    with closing(sqlite3.connect(":memory:")) as db:
        for script in migrations:
            for statement in complete_statements(script):
                db.execute(statement)
            found |= {sql for (sql,) in db.execute("SELECT sql FROM sqlite_master WHERE type IN ('trigger', 'view')")}
    return frozenset(found)


def _encodable(row: Sequence[Any]) -> list[Any]:
    return [item.encode("utf-8", "replace").decode("utf-8") if isinstance(item, str) else item for item in row]


def complete_statements(script: str) -> Iterator[str]:
    """The statements of a script; ours hold no semicolon but at their ends, save inside triggers."""
    pending = ""
    for line in script.splitlines():
        pending += line + "\n"
        if sqlite3.complete_statement(pending):
            yield pending
            pending = ""

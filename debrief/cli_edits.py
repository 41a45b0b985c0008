"""Verbs that change what stands in a session: accept, change, reject, undo, sign, erase. Thin; every deed goes through the store's edits."""
from typing import Annotated

import typer

from .cli_results import Recordings, SessionResults, say

Number = Annotated[int, typer.Argument(help="the row's number", show_default=False)]
By = Annotated[str, typer.Option("--by", help="your name", show_default=False)]
Note = Annotated[str, typer.Option("--note", help="why, in your words")]
Seen = Annotated[int | None, typer.Option("--seen", help="revision of the row that you looked at, as `debrief row` tells it", show_default=False)]
_AGAIN = "Sheet and tables on disk are as before: `debrief sheet` and `debrief tables` write them again."


def accept_command(session: SessionResults, number: Number, by: By, note: Note = "", seen: Seen = None) -> None:
    """You heard the sound, and the row is right."""
    from .desk.row_text import line_of
    from .desk.seen import as_seen
    from .store import edits
    from .store.opening import open_to_change

    with open_to_change(session) as store:
        row = edits.accept(store.db, number, as_seen(store.db, number, by, seen).revision, by, note)
    say([line_of(row), _AGAIN])


def change_command(session: SessionResults, number: Number,
                   fields: Annotated[list[str], typer.Argument(help="field=value, such as value=4.30 or condition.hand=left", show_default=False)],
                   by: By, note: Note = "", seen: Seen = None) -> None:
    """You heard the sound, and fields of the row should say something else."""
    from .desk.arising import Arising
    from .desk.row_text import line_of
    from .desk.seen import as_seen
    from .desk.typed_values import typed_fields
    from .store import edits
    from .store.opening import open_to_change

    with open_to_change(session) as store:
        now = as_seen(store.db, number, by, seen)
        row = Arising(store).change((number, now.revision), typed_fields(now.row, fields), by, note)
        others = [edits.standing(store.db, item) for item in edits.touched_with(store.db, number)[1:]]
    say([line_of(row), *(f"follows it: {line_of(item.row) if item.state == 'standing' else f'row {item.row.number} is out of the tables'}" for item in others),
         _AGAIN])


def reject_command(session: SessionResults, number: Number, by: By, note: Note = "", seen: Seen = None) -> None:
    """You heard the sound, and there is no such row. It stays in the store, out of the tables."""
    from .desk.seen import as_seen
    from .store import edits
    from .store.opening import open_to_change

    with open_to_change(session) as store:
        edits.reject(store.db, number, as_seen(store.db, number, by, seen).revision, by, note)
    say([f"row {number} is out of the tables", _AGAIN])


def undo_command(session: SessionResults, by: By,
                 deed: Annotated[int | None, typer.Option("--deed", help="number of the deed, as `debrief row` tells it; anybody's", show_default=False)] = None,
                 ) -> None:
    """Take back your last deed that still stands, or the one that is named. Nothing is deleted."""
    from .store import edits
    from .store.opening import open_to_change

    with open_to_change(session) as store:
        numbers = edits.undo(store.db, by, deed)
    say([f"taken back: row {', '.join(map(str, numbers))}", _AGAIN])


def sign_command(session: SessionResults, by: By, recordings: Recordings = None,
                 yes: Annotated[bool, typer.Option("--yes", help="do not ask, whatever nobody has heard")] = False) -> None:
    """Sign the session as it stands: name, time, how many rows a person has heard. Asks first where rows were heard by nobody."""
    from .desk.contents import read_contents
    from .desk.handout import signed, write_all
    from .desk.unheard import unheard
    from .store.opening import find_store, open_to_change

    with open_to_change(session) as store:
        left = unheard(store)
        if by.strip() and left.rows and not yes:
            say([left.says])
            typer.confirm("Sign with rows that nobody heard? They stand as the machine read them, and the seal says how many they are.", abort=True)
        seal = store.sign(by)
        folder = find_store(session).absolute().parent
        write_all(read_contents(store, recordings), folder)
    say([f"signed {signed(seal)}", f"{folder}: sheet and tables written"])


def erase_command(session: SessionResults, by: By,
                  why: Annotated[str, typer.Option("--why", help="the reason that is kept", show_default=False)],
                  row: Annotated[list[int] | None, typer.Option("--row", help="number of a row to erase; may be given again")] = None,
                  start: Annotated[str | None, typer.Option("--from", help="session time at which sound and words are erased from, h:mm:ss")] = None,
                  end: Annotated[str | None, typer.Option("--to", help="session time up to which they are erased, h:mm:ss")] = None,
                  loop: Annotated[str | None, typer.Option(help="the loop on which; all loops when left out")] = None,
                  yes: Annotated[bool, typer.Option("--yes", help="do not ask")] = False) -> None:
    """Erase rows, or all that was said in a stretch, for good: store, index, sheet, tables and captions. The recordings stay yours to cut."""
    from .desk.erasing import erase_and_write, places_between
    from .errors import InputError
    from .store.opening import open_to_change

    with open_to_change(session) as store:
        places = places_between(store, start, end, loop) if start or end else []
        if not places and not row:
            raise InputError("nothing is named that should be erased", todo="give --row, or --from and --to")
        if not yes:
            typer.confirm("This cannot be undone. Erase?", abort=True)
        gone = erase_and_write(store, (by, why), places, row or ())
    seconds = sum(span.duration_s for _, span in places)
    say([f"erased: {len(gone)} rows and {seconds:.0f} s of talk; sheet, tables and captions written again", "the recordings are as they were"])

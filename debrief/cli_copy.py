"""debrief copy: a session for others, without what is tagged medical. Thin: it prints what a plain function says."""
from pathlib import Path
from typing import Annotated

import typer

from .cli_door import plain
from .session import load_session


def copy_command(
    folder: Annotated[Path, typer.Argument(help="folder that a run wrote, or the store file in it", show_default=False)],
    out: Annotated[Path, typer.Option("--out", help="folder for the copy; no session may lie in it", show_default=False)],
    medical: Annotated[bool, typer.Option("--with-medical/--without-medical", help="keep what is tagged medical")] = False,
    sound: Annotated[bool, typer.Option("--with-sound", help="write the recordings too, silent where something is left out")] = False,
    session: Annotated[Path | None, typer.Option("--session", help="session file whose medical tags count too")] = None,
) -> None:
    """Copy a session for others: store, tables, captions and sheet, without rows, words and sound of what is tagged medical."""
    from .desk.distribution import CopySettings, copy_session
    from .store.sessions import SessionStore

    tags = load_session(session)[0] if session else None
    with SessionStore.open(folder) as store:
        left = copy_session(store, out, CopySettings(medical, sound, tags))
    typer.echo(plain(f"{out}: copied; {left.rows} rows and {left.seconds:.0f} s of talk left out. Medical values whose names the recogniser "
                     "did not hear may still be in it: look it through before you hand it on."))

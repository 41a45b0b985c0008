"""The only door: one thin command per verb. Prints and exits nowhere else."""
import sys
from pathlib import Path
from typing import Annotated

import typer

from .desk.tables import write_tables
from .errors import DebriefError
from .pipeline import harvest_transcript
from .session import Session, load_session

app = typer.Typer(no_args_is_help=True, add_completion=False, pretty_exceptions_enable=False)


@app.callback()
def root() -> None:
    """From recorded voice loops to rows that carry their sound and say how sure they are."""


@app.command("harvest")
def harvest_command(
    transcript: Path,
    out: Annotated[Path, typer.Option(help="folder for the tables")],
    session: Annotated[Path | None, typer.Option(help="session file (TOML)")] = None,
) -> None:
    """Tables from a saved transcript."""
    loaded = load_session(session)[0] if session else Session()
    write_tables(harvest_transcript(transcript, loaded), out)


def main() -> None:
    try:
        app()
    except DebriefError as error:
        typer.echo(str(error), err=True)
        sys.exit(error.exit_code)

"""The door itself: every error leaves as a message and an exit code, Ctrl-C as a message that says how to go on, never as a traceback."""
import signal
import sys
from typing import Any

import typer
from typer.core import TyperGroup

from .errors import DebriefError, Interrupted
from .unseen import shown_as


class Door(TyperGroup):
    """The group of all verbs; a Ctrl-C inside any of them becomes an Interrupted."""

    def invoke(self, ctx: Any) -> Any:
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            signal.signal(signal.SIGINT, signal.SIG_IGN)  # a second Ctrl-C must not cut the message short
            raise Interrupted("stopped; everything that was finished until now is kept",
                              todo="give the same command again, and it goes on from there") from None


def walk_through(app: typer.Typer) -> None:
    """Runs the command line; the program ends here. Exit codes: 0 done, 2 refused or failed with a message, 130 stopped by the user."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")  # names of files may hold what no text may
    try:
        app()
    except DebriefError as error:
        leave(str(error), error.exit_code)
    except OSError as error:
        leave(_said(error), DebriefError.exit_code)


def leave(message: str, code: int) -> None:
    typer.echo(plain(message), err=True)
    sys.exit(code)


def plain(message: str) -> str:
    """The message with every character that a terminal would obey, or that hides text, written out."""
    return shown_as(message, lambda found: f"\\x{ord(found[0]):02x}")


def _said(error: OSError) -> str:
    """What the system refused, where no room of ours has said it better."""
    return str(DebriefError(f"the system refused: {error.strerror or error}", str(error.filename or ""), "check the drive and its permissions"))

"""debrief review: the page on which a person hears, mends and signs a session. Served on this machine alone, until Ctrl-C."""
import os
import socket
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Timer
from typing import Annotated

import typer

from .errors import DebriefError

HOST = "127.0.0.1"
OPEN_AFTER_S = 0.4


def review_command(
    session: Annotated[Path, typer.Argument(help="folder that a run wrote, or the store file in it", show_default=False)],
    recordings: Annotated[Path | None, typer.Option(help="folder in which recordings are looked for by name")] = None,
    port: Annotated[int, typer.Option(min=0, max=65535, help="port on this machine; 0 takes a free one")] = 0,
    browser: Annotated[bool, typer.Option(help="open the page in the browser")] = True,
) -> None:
    """Hear, mend and sign a session in the browser, the listening list first. Only this machine can reach it; Ctrl-C ends it."""
    import uvicorn

    from .desk.page.app import review_app

    with _listening(port) as listener:
        app, rooms = review_app(session, recordings)
        door = f"http://{HOST}:{listener.getsockname()[1]}/{rooms.keys.path}/open?key="
        for heard in (rooms.top.recordings.values() if rooms.top else ()):
            if heard.says:
                typer.echo(heard.says, err=True)
        typer.echo(f"Review page: {door}{rooms.keys.secret}\nKeep this address to yourself. Ctrl-C ends the page; every edit is kept as it is made.")
        server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False, server_header=False, proxy_headers=False, ws="none",
                                               timeout_graceful_shutdown=2, limit_concurrency=64, timeout_keep_alive=30))
        if browser:
            Timer(OPEN_AFTER_S, webbrowser.open, [door + app.invite()]).start()
        with suppress(KeyboardInterrupt):  # the way in which a page ends
            server.run(sockets=[listener])
        typer.echo("The page has ended; every edit is kept.")


@contextmanager
def _listening(port: int) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as listener:
        if os.name == "posix":
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((HOST, port))
            listener.listen(128)  # who follows the address at once waits, and is not refused
        except OSError as error:
            raise DebriefError(f"port {port} cannot be used: {error.strerror}", todo="leave --port out, and a free one is taken") from error
        yield listener

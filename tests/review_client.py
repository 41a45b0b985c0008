"""The review page without a browser: requests as a browser would send them, straight into the guarded app."""
import asyncio
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import uvicorn

from debrief.desk.page.app import Rooms, review_app
from debrief.desk.page.guard import Guard, Limits

OWN = "http://127.0.0.1:8765"


class Page:
    """Sends requests as our own page does; what is given in headers stands over that, None leaves a header out."""

    def __init__(self, app: Guard, rooms: Rooms) -> None:
        self.app, self.rooms, self.base = app, rooms, f"/{rooms.keys.path}/"
        self.cookie = f"{rooms.keys.name}={rooms.keys.cookie}"

    def ask(self, method: str, path: str, *, headers: dict[str, str | None] | None = None, client: str = "127.0.0.1", **given: Any) -> httpx.Response:
        sent = {"cookie": self.cookie, "origin": OWN if method == "POST" else None, "sec-fetch-site": "same-origin", **(headers or {})}

        async def go() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app, client=(client, 50_000), raise_app_exceptions=False)  # type: ignore[arg-type]
            async with httpx.AsyncClient(transport=transport, base_url=OWN) as browser:
                address = path if path.startswith("/") else self.base + path
                return await browser.request(method, address, headers={k: v for k, v in sent.items() if v is not None}, **given)

        return asyncio.run(go())

    def get(self, path: str, **given: Any) -> Any:
        answer = self.ask("GET", path, params=given)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def post(self, path: str, **body: Any) -> httpx.Response:
        return self.ask("POST", path, json={"who": "Ann", **body})

    def row(self, number: int) -> Any:
        return self.get(f"api/rows/{number}")

    def fields(self, number: int) -> dict[str, str]:
        return {item["name"]: item["value"] for item in self.row(number)["fields"] if item["value"]}


@contextmanager
def review_page(folder: Path, recordings: Path | None = None, limits: Limits | None = None) -> Iterator[Page]:
    app, rooms = review_app(folder, recordings, limits)
    try:
        yield Page(app, rooms)
    finally:
        rooms.close()


@contextmanager
def served(folder: Path, recordings: Path | None = None, limits: Limits | None = None) -> Iterator[tuple[str, Rooms]]:
    """The page on a real port of this machine: its address up to the start's path, and what it holds."""
    app, rooms = review_app(folder, recordings, limits)
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen(64)
        server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False, server_header=False, proxy_headers=False, ws="none",
                                               timeout_graceful_shutdown=1))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        try:
            while not server.started:
                time.sleep(0.01)
            yield f"http://127.0.0.1:{listener.getsockname()[1]}/{rooms.keys.path}", rooms
        finally:
            server.should_exit = True
            thread.join()

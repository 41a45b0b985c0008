"""The page's routes: each reads a model (asked.py), asks the worktop or the sounds, and answers JSON, a clip or the page itself.

The worktop lives in a thread of its own; sounds are read in others, so that a slow file never holds up an edit.
"""
import asyncio
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar, get_origin

from pydantic import BaseModel, ValidationError
from starlette.applications import Starlette
from starlette.convertors import IntegerConvertor, register_url_convertor
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Mount, Route, Router

from ... import __version__
from ...errors import ChangedMeanwhile, DebriefError, InputError, RecordingError
from ...records.sound import Source
from ...timebase import Span
from ..formats import CAUTION
from ..sheet import environment
from . import asked
from .description import description
from .guard import Guard, Keys, Limits, Refused
from .sounds import Sounds, as_found
from .worktop import NoSuchRow, Worktop, write_out
from .worktop import drawings as drawings_of

STATIC = {"review.css": "text/css", "review.js": "text/javascript", "ask.js": "text/javascript", "sound.js": "text/javascript",
          "list.js": "text/javascript", "row.js": "text/javascript", "talk.js": "text/javascript", "deeds.js": "text/javascript",
          "keys.js": "text/javascript", "passages.js": "text/javascript", "parts.js": "text/javascript", "review.svg": "image/svg+xml"}
"""Every file that is given out, by name; there is no folder to ask for."""


class _Whole(IntegerConvertor):
    """A whole number in an address, short enough for the store and for Python."""

    regex = "[0-9]{1,15}"


register_url_convertor("whole", _Whole())
Made = TypeVar("Made")
Model = TypeVar("Model", bound=BaseModel)


@dataclass
class Rooms:
    """What the routes use. store_thread: the one thread of the worktop."""

    path: Path
    folder: Path | None
    keys: Keys = field(default_factory=Keys)
    store_thread: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, "store"))
    sound_threads: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(2, "sound"))
    top: Worktop | None = None
    sounds: Sounds | None = None
    guard: Guard | None = None

    def open(self) -> None:
        """Opens the store in its thread; raises StoreError."""
        self.top = self.store_thread.submit(Worktop, self.path, self.folder).result()
        self._listen()

    def _listen(self) -> None:
        assert self.top is not None
        self.sounds = Sounds(self.top.recordings)
        self.sound_threads.submit(self.sounds.prepare)

    def close(self) -> None:
        if self.top is not None:
            self.store_thread.submit(self.top.close).result()
        self.store_thread.shutdown()
        self.sound_threads.shutdown(cancel_futures=True)

    async def ask(self, what: Callable[..., Made], *given: Any) -> Made:
        return await asyncio.get_running_loop().run_in_executor(self.store_thread, what, *given)

    async def clip(self, source: Source, span: Span) -> bytes:
        """A clip of what may be heard now: what was erased a moment ago is silent already, and no clip of before is kept."""
        assert self.top is not None
        if not await self.ask(self.top.may_be_heard):
            self._listen()
        assert self.sounds is not None
        return await self.hear(self.sounds.clip, source, span)

    async def hear(self, what: Callable[..., Made], *given: Any) -> Made:
        return await asyncio.get_running_loop().run_in_executor(self.sound_threads, what, *given)


def review_app(path: Path, folder: Path | None = None, limits: Limits | None = None) -> tuple[Guard, Rooms]:
    """The guarded app over a store, opened, and what it holds (close it at the end). folder: where recordings are looked for besides."""
    rooms = Rooms(path, folder)
    try:
        rooms.open()
    except BaseException:
        rooms.close()
        raise
    handlers = {DebriefError: _debrief_error, ValidationError: _invalid, HTTPException: _http_error, Refused: _refused, Exception: _bug}
    routes = Mount(f"/{rooms.keys.path}", app=Router(_routes(rooms), redirect_slashes=False))
    inner = Starlette(routes=[routes], exception_handlers=handlers, lifespan=_lifespan(rooms))
    inner.router.redirect_slashes = False
    rooms.guard = Guard(inner, rooms.keys, limits or Limits())
    return rooms.guard, rooms


def _lifespan(rooms: Rooms) -> Any:
    @asynccontextmanager
    async def life(_app: Starlette) -> Any:
        yield
        rooms.close()

    return life


# answers


def refusal(status: int, error: str, what: str, todo: str = "", **more: Any) -> JSONResponse:
    """The one shape of every refusal."""
    return JSONResponse({"error": error, "what": what, "todo": todo, **more}, status)


async def _debrief_error(request: Request, error: Exception) -> Response:
    assert isinstance(error, DebriefError)
    if isinstance(error, ChangedMeanwhile):
        return refusal(409, "changed meanwhile", error.what, error.todo, **await _now(request))
    if isinstance(error, RecordingError):
        return refusal(404, "no sound", error.what, error.todo)
    if isinstance(error, NoSuchRow):
        return refusal(404, "no such row", error.what, error.todo)
    status = 422 if isinstance(error, InputError) else 503
    return refusal(status, "refused" if status == 422 else "store", error.what, error.todo)


async def _now(request: Request) -> dict[str, Any]:
    """The row of a refused deed as it stands, so that the person sees what changed."""
    number, rooms = request.path_params.get("number"), request.state.rooms
    if number is None or rooms.top is None:
        return {}
    try:
        return {"now": await rooms.ask(rooms.top.row, number)}
    except InputError:
        return {"now": None}


async def _invalid(_request: Request, error: Exception) -> Response:
    assert isinstance(error, ValidationError)
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    where = ".".join(str(part) for part in first["loc"])
    return refusal(422, "not understood", f"{where}: {first['msg']}" if where else first["msg"])


async def _http_error(_request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    return JSONResponse({"error": "no such thing", "what": str(error.detail), "todo": ""}, error.status_code, headers=dict(error.headers or {}))


async def _refused(_request: Request, error: Exception) -> Response:
    assert isinstance(error, Refused)
    return refusal(error.status, error.error, error.what)


async def _bug(_request: Request, _error: Exception) -> Response:
    return refusal(500, "fault", "the program has a fault here; nothing was changed", "tell its makers what you did")


def queried(request: Request, model: type[Model]) -> Model:
    """The address's query as a model; a name may stand several times only where a list is asked for."""
    given: dict[str, Any] = {}
    for name, value in request.query_params.multi_items():
        given.setdefault(name, []).append(value)
    for name, values in given.items():
        known = model.model_fields.get(name)
        if known is None or get_origin(known.annotation) is not list:
            given[name] = values[0] if len(values) == 1 else values
    return model.model_validate(given)


async def sent(request: Request, model: type[Model]) -> Model:
    return model.model_validate_json(await request.body())


# routes


Handler = Callable[[Request], Awaitable[Response]]


def _routes(rooms: Rooms) -> list[Route]:
    top = rooms.top
    assert top is not None

    def reads(model: type[BaseModel], what: Callable[[Any], Any]) -> Handler:
        async def answer(request: Request) -> Response:
            request.state.rooms = rooms
            return JSONResponse(await rooms.ask(what, queried(request, model)))
        return answer

    def does(model: type[BaseModel], what: Callable[..., Any]) -> Handler:
        async def answer(request: Request) -> Response:
            request.state.rooms = rooms
            number = [request.path_params["number"]] if "number" in request.path_params else []
            return JSONResponse(await rooms.ask(what, *number, await sent(request, model)))
        return answer

    return [
        *_pages(rooms), Route("/api/session", reads(asked.Nothing, lambda _: top.about())),
        Route("/api/rows", reads(asked.RowsQuery, top.rows)), Route("/api/rows/{number:whole}", _row(rooms)),
        Route("/api/talk", reads(asked.TalkQuery, top.talk)), Route("/api/passage", reads(asked.PassageQuery, top.passage)),
        Route("/api/changes", reads(asked.ChangesQuery, lambda q: top.changes(q.since))),
        Route("/api/rows/{number:whole}/accept", does(asked.Decide, top.accept), methods=["POST"]),
        Route("/api/rows/{number:whole}/reject", does(asked.Decide, top.reject), methods=["POST"]),
        Route("/api/rows/{number:whole}/change", does(asked.Change, top.change), methods=["POST"]),
        Route("/api/rows/{number:whole}/split", does(asked.Split, top.split), methods=["POST"]),
        Route("/api/accept", does(asked.AcceptTogether, top.accept_together), methods=["POST"]),
        Route("/api/rename", does(asked.Rename, top.rename), methods=["POST"]),
        Route("/api/merge", does(asked.Merge, top.merge), methods=["POST"]), Route("/api/add", does(asked.Add, top.add), methods=["POST"]),
        Route("/api/undo", does(asked.Undo, top.undo), methods=["POST"]),
        Route("/api/heard", does(asked.HeardPlace, top.heard_place), methods=["POST"]),
        Route("/api/sign", does(asked.Sign, top.sign), methods=["POST"]),
    ]


def _pages(rooms: Rooms) -> list[Route]:
    """What is no question about rows: the page, its files, drawings, sound, and what is written into the session's folder."""
    top = rooms.top
    assert top is not None

    async def sound(request: Request) -> Response:
        queried(request, asked.Nothing)
        given = request.path_params
        span = _span(given["start"], given["end"])
        return ranged(await rooms.clip(Source(given["recording"], given["channel"]), span), request.headers.get("range"))

    async def write(request: Request) -> Response:
        await sent(request, asked.Nothing)
        return JSONResponse(await rooms.hear(write_out, rooms.path, as_found(top.recordings)))

    async def drawings(request: Request) -> Response:
        numbers = await rooms.ask(top.readouts, queried(request, asked.Filter))
        return _page("review_plots.html", **await rooms.hear(drawings_of, rooms.path, numbers))

    async def page(_request: Request) -> Response:
        return _page("review.html", title=top.title, caution=CAUTION, version=__version__)

    async def described(_request: Request) -> Response:
        return JSONResponse(description())

    return [Route("/", page), Route("/open", _door(rooms)), Route("/static/{name}", _static), Route("/plots", drawings),
            Route("/api/description", described), Route("/api/write", write, methods=["POST"]),
            Route("/sound/{recording}/{channel:whole}/{start:whole}-{end:whole}.wav", sound)]


def _row(rooms: Rooms) -> Handler:
    async def row(request: Request) -> Response:
        assert rooms.top is not None
        queried(request, asked.Nothing)
        return JSONResponse(await rooms.ask(rooms.top.row, request.path_params["number"]))

    return row


def _span(start: int, end: int) -> Span:
    if not start <= end <= asked.MOST_WHOLE:
        raise HTTPException(404, "no such stretch of sound")
    return Span(start, end)


def _door(rooms: Rooms) -> Handler:
    async def door(request: Request) -> Response:
        """The exchange of the secret for the cookie; the page follows by itself, so that the address with the secret is left behind."""
        assert rooms.guard is not None
        cookie = rooms.guard.enter(request.query_params.get("key", ""))
        answer = _page("review_door.html")
        answer.headers["set-cookie"] = cookie
        return answer

    return door


async def _static(request: Request) -> Response:
    name = request.path_params["name"]
    if name not in STATIC:
        raise HTTPException(404, "no such file")
    return Response(_file(name), media_type=f"{STATIC[name]}; charset=utf-8")


@lru_cache
def _file(name: str) -> bytes:
    return files("debrief.desk").joinpath("static", "review", name).read_bytes()


def _page(name: str, **given: Any) -> HTMLResponse:
    return HTMLResponse(environment().get_template(name).render(**given))


def ranged(body: bytes, wanted: str | None) -> Response:
    """The whole, or the one range of bytes that is asked for (RFC 9110, 14.2); several ranges are answered with the whole."""
    headers = {"accept-ranges": "bytes"}
    found = _range(wanted, len(body)) if wanted else None
    if found is None:
        return Response(body, media_type="audio/wav", headers=headers)
    first, last = found
    if first > last:
        return Response(status_code=416, headers={**headers, "content-range": f"bytes */{len(body)}"})
    headers["content-range"] = f"bytes {first}-{last}/{len(body)}"
    return Response(body[first:last + 1], 206, media_type="audio/wav", headers=headers)


def _range(wanted: str, length: int) -> tuple[int, int] | None:
    """First and last byte; (1, 0) for a range that lies outside; None for what is to be ignored."""
    unit, mark, given = wanted.partition("=")
    start, dash, end = given.strip().partition("-")
    if unit.strip().lower() != "bytes" or not mark or not dash or "," in given or not (start + end).isdigit() or len(start + end) > 30:
        return None
    if not start:
        return (max(0, length - int(end)), length - 1) if int(end) else (1, 0)
    last = min(int(end), length - 1) if end else length - 1
    if end and int(end) < int(start):
        return None
    return (int(start), last) if int(start) < length else (1, 0)

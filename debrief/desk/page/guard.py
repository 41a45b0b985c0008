"""Who may come in: this machine only, by the address it was started with, holding the start's secret, from our own page.

Every start makes a secret and a path. The address that is opened carries the secret once; it is exchanged for a cookie that scripts cannot
read, that no other site's request carries (SameSite=Strict) and that no other path of this machine gets. Each request is checked before
anything else runs: the Host it names (a foreign name that points here is DNS rebinding), its Origin and Sec-Fetch-Site (a request that
another site made), its length, and how many came. Answers carry a policy under which nothing but our own files runs.
"""
import hashlib
import hmac
import json
import secrets
import time
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from ipaddress import ip_address
from typing import Any

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

POLICY = ("default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; media-src 'self' blob:; connect-src 'self'; "
          "base-uri 'none'; form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'")
HEADERS = (
    ("content-security-policy", POLICY), ("x-content-type-options", "nosniff"), ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"), ("cross-origin-resource-policy", "same-origin"), ("x-frame-options", "DENY"),
    ("permissions-policy", "camera=(), microphone=(), geolocation=(), payment=(), usb=()"), ("cache-control", "no-store"))
METHODS = ("GET", "HEAD", "POST")
INVITED_S = 60.0


@dataclass(frozen=True, slots=True)
class Limits:
    """body, address: bytes; per_s, burst: requests; bad_keys: wrong secrets in a minute before the door stays shut for that minute."""

    body: int = 65_536
    address: int = 6_144
    per_s: float = 200.0
    burst: float = 600.0
    bad_keys: int = 10


@dataclass(frozen=True, slots=True)
class Keys:
    """What one start made. path: under which everything lies; secret: in the address; cookie: what it is exchanged for."""

    path: str = field(default_factory=lambda: secrets.token_urlsafe(12))
    secret: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    cookie: str = field(default_factory=lambda: secrets.token_urlsafe(32))

    @property
    def name(self) -> str:
        """The cookie's name: cookies do not know ports, so two starts must not share one."""
        return "debrief-" + hashlib.sha256(self.path.encode()).hexdigest()[:12]

    def is_secret(self, given: str) -> bool:
        return hmac.compare_digest(given.encode(), self.secret.encode())

    def set_cookie(self) -> str:
        return f"{self.name}={self.cookie}; Path=/{self.path}/; HttpOnly; SameSite=Strict"


class Refused(Exception):
    """A request that goes no further."""

    def __init__(self, status: int, error: str, what: str) -> None:
        super().__init__(what)
        self.status, self.error, self.what = status, error, what


class Bucket:
    """Lets `burst` requests through at once and `per_s` a second after."""

    def __init__(self, per_s: float, burst: float, clock: Callable[[], float] = time.monotonic) -> None:
        self._per_s, self._burst, self._clock = per_s, burst, clock
        self._left, self._at = burst, clock()

    def take(self) -> bool:
        now = self._clock()
        self._left = min(self._burst, self._left + (now - self._at) * self._per_s)
        self._at = now
        if self._left < 1:
            return False
        self._left -= 1
        return True


class Guard:
    """ASGI middleware around the page's routes."""

    def __init__(self, app: App, keys: Keys, limits: Limits | None = None) -> None:
        self.app, self.keys, self.limits = app, keys, limits or Limits()
        self._requests = Bucket(self.limits.per_s, self.limits.burst)
        self._bad_keys = Bucket(self.limits.bad_keys / 60, self.limits.bad_keys)
        self._invited: dict[str, float] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no web sockets here: the server answers 403 to one that is not accepted
        guarded = _with_headers(send)
        try:
            self._check(scope)
            await self.app(scope, _limited(receive, self.limits.body), guarded)
        except Refused as refused:
            await _tell(refused, guarded)

    def _check(self, scope: Scope) -> None:
        headers = _headers(scope)
        own = _own_address(scope)
        if not _from_here(scope):
            raise Refused(403, "not from here", "This page answers to this machine only.")
        if headers.get("host") != [own]:
            raise Refused(421, "wrong host", "This page answers only under the address it was started with.")
        if not self._requests.take():
            raise Refused(429, "too many requests", "Too many requests; wait a moment.")
        if len(scope.get("raw_path") or b"") + len(scope["query_string"]) > self.limits.address:
            raise Refused(414, "address too long", "The address is too long.")
        if scope["method"] not in METHODS:
            raise Refused(405, "method not allowed", "Only GET and POST are answered.")
        _check_length(headers, self.limits.body)
        _check_origin(scope, headers, own)
        if not self._is_door(scope):
            self._check_cookie(headers)

    def _is_door(self, scope: Scope) -> bool:
        """The one address that needs no cookie: it gives one to those who know the secret."""
        return scope["path"] == f"/{self.keys.path}/open"

    def _check_cookie(self, headers: dict[str, list[str]]) -> None:
        try:
            cookies = SimpleCookie("; ".join(headers.get("cookie", [])))
        except CookieError:
            cookies = SimpleCookie()
        given = cookies[self.keys.name].value if self.keys.name in cookies else ""
        if not hmac.compare_digest(given.encode(), self.keys.cookie.encode()):
            raise Refused(403, "no key", "Open the page by the address that `debrief review` printed.")

    def invite(self) -> str:
        """A key that opens once and for INVITED_S only: for the browser's command line, which every user of this machine can read."""
        made = secrets.token_urlsafe(32)
        self._invited[made] = time.monotonic() + INVITED_S
        return made

    def enter(self, given: str) -> str:
        """The cookie for the secret or an invitation. Refused for a wrong one, and for a while after many wrong ones."""
        invited = self._invited.pop(given, 0.0) > time.monotonic()
        if not invited and not self.keys.is_secret(given):
            if not self._bad_keys.take():
                raise Refused(429, "too many wrong keys", "Too many wrong keys; wait a minute.")
            raise Refused(403, "wrong key", "This address is of another start. Open the one that `debrief review` printed.")
        return self.keys.set_cookie()


def _headers(scope: Scope) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, value in scope["headers"]:
        found.setdefault(name.decode("latin-1").lower(), []).append(value.decode("latin-1"))
    return found


def _own_address(scope: Scope) -> str:
    host, port = scope["server"]
    return f"{host}:{port}"


def _from_here(scope: Scope) -> bool:
    try:
        return ip_address(scope["client"][0]).is_loopback
    except (ValueError, TypeError, KeyError):
        return False


def _check_length(headers: dict[str, list[str]], most: int) -> None:
    for text in headers.get("content-length", []):
        if not text.isdigit() or int(text) > most:
            raise Refused(413, "too long", f"A request is at most {most} bytes.")


def _check_origin(scope: Scope, headers: dict[str, list[str]], own: str) -> None:
    origin = headers.get("origin", [])
    changes = scope["method"] == "POST"
    if (changes and not origin) or any(item != f"http://{own}" for item in origin):
        raise Refused(403, "wrong origin", "Only the page itself may ask for this.")
    sites = headers.get("sec-fetch-site", [])
    at_door = scope["path"].endswith("/open") and not changes
    if not at_door and any(site not in ("same-origin", "none") for site in sites):
        raise Refused(403, "wrong site", "Only the page itself may ask for this.")
    if changes and not all(item.split(";")[0].strip().lower() == "application/json" for item in headers.get("content-type", [""])):
        raise Refused(415, "not JSON", "Deeds are sent as application/json.")


def _limited(receive: Receive, most: int) -> Receive:
    """Counts what really comes: a length that is not told, or told wrongly, goes no further than the limit."""
    got = 0

    async def counted() -> Message:
        nonlocal got
        message = await receive()
        got += len(message.get("body", b""))
        if got > most:
            raise Refused(413, "too long", f"A request is at most {most} bytes.")
        return message

    return counted


def _with_headers(send: Send) -> Send:
    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            given = {name.lower() for name, _ in message.get("headers", [])}
            message = {**message, "headers": [*message.get("headers", []), *(
                (name.encode(), value.encode()) for name, value in HEADERS if name.encode() not in given)]}
        await send(message)

    return guarded


async def _tell(refused: Refused, send: Send) -> None:
    body = json.dumps({"error": refused.error, "what": refused.what, "todo": ""}).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
    if refused.status == 405:
        headers.append((b"allow", ", ".join(METHODS).encode()))
    if refused.status == 429:
        headers.append((b"retry-after", b"2"))
    await send({"type": "http.response.start", "status": refused.status, "headers": headers})
    await send({"type": "http.response.body", "body": body})

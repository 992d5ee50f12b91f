"""Who gets in: hosts, the token and the cookies, where a change comes from, how much is sent.

Every request passes here first. A page of another site can neither read nor change anything: the
cookie is sent to pages of the bench alone, a change must say that it comes from one, and a name
that was made to point at this machine is no host that is known.
"""

from __future__ import annotations

import asyncio
import hmac
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass, field
from typing import Any, Literal
from urllib.parse import urlsplit

from starlette.responses import PlainTextResponse, Response

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]
Who = Literal["desk", "phone"]

MOST_BYTES = 2 * 1024 * 1024
SECONDS_FOR_A_BODY = 10.0
# What can be had without a cookie: ways in, and what they look like.
OPEN = ("/enter", "/door")
LOOKS = "/static/"
# What a phone may ask for besides.
OF_A_PHONE = ("/beside", "/state", "/leave")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # Nothing is told to other sites; of a page that tells its own site nothing, browsers would not
    # say where its forms come from either.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}
_WRITTEN = ("application/x-www-form-urlencoded", "application/json")


@dataclass
class Entry:
    """Who is let in: the hosts this bench answers as, its token, the cookies it gave out.

    `hosts` are names with their port, `phone_hosts` those of the address that the owner named for
    a phone: they are answered only while the door is open.
    """

    hosts: frozenset[str]
    phone_hosts: frozenset[str] = frozenset()
    port: int = 0
    token: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    open_to_phones: bool = False
    _cookies: dict[str, Who] = field(default_factory=dict)

    @property
    def cookie(self) -> str:
        """The cookie's name: browsers keep one jar for all ports of a machine."""
        return f"fitcheck-bench-{self.port}"

    def admits(self, token: str) -> bool:
        """Whether a token is this bench's own."""
        return hmac.compare_digest(token.encode(), self.token.encode())

    def let_in(self, who: Who) -> str:
        """A cookie for somebody who is let in."""
        made = secrets.token_urlsafe(32)
        self._cookies[made] = who
        return made

    def shut_out(self, who: Who) -> None:
        """Take back all cookies of a kind."""
        self._cookies = {made: own for made, own in self._cookies.items() if own != who}

    def who(self, cookie: str) -> Who | None:
        """Whose cookie it is; None for none of ours."""
        for made, own in self._cookies.items():
            if hmac.compare_digest(made.encode(), cookie.encode()):
                return own
        return None

    def answers_as(self, host: str) -> bool:
        """Whether a host is one that this bench answers as now."""
        return host in self.hosts or (self.open_to_phones and host in self.phone_hosts)


class Guard:
    """Lets a request through to the app, or refuses it and says why."""

    def __init__(self, app: App, entry: Entry) -> None:
        self.app = app
        self.entry = entry

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":  # nothing here speaks over a websocket
            await send({"type": "websocket.close", "code": 1008})
            return
        dressed = _Dressed(send)
        refused = self._refused(scope)
        if refused is not None:
            await refused(scope, receive, dressed)
            return
        await self.app(scope, _Bounded(receive), dressed)

    def _refused(self, scope: Scope) -> Response | None:
        headers = [(name.decode("latin-1"), value.decode("latin-1"))
                   for name, value in scope["headers"]]  # fmt: skip
        told: dict[str, list[str]] = {}
        for name, value in headers:
            told.setdefault(name.lower(), []).append(value)
        hosts = told.get("host", [])
        host = hosts[0].lower() if len(hosts) == 1 else ""
        if not self.entry.answers_as(host):
            return _refuse(421, "This bench does not answer under that address.")
        at_desk = host in self.entry.hosts
        method, path = scope["method"], scope["path"]
        if path == "/enter" and not at_desk:
            return _refuse(421, "The way in is at the desk.")
        if method not in ("GET", "HEAD", "POST"):
            return _refuse(405, "Nothing here is asked in that way.")
        if method == "POST":
            refused = _foreign(told, host) or _too_much(told)
            if refused is not None:
                return refused
        cookies = _cookies(told.get("cookie", []), self.entry.cookie)
        who = next((own for one in cookies if (own := self.entry.who(one))), None)
        if who == "desk" and not at_desk:
            who = None
        scope["who"] = who
        if path in OPEN or path.startswith(LOOKS):
            return None
        if who is None:
            what = (
                "Open the address that 'fitcheck bench' printed: this page is for its owner alone."
            )
            return _refuse(403, what)
        if who == "phone" and not path.startswith(OF_A_PHONE):
            return _refuse(403, "A phone is let in to take readings, and to nothing else.")
        return None


def _foreign(told: dict[str, list[str]], host: str) -> Response | None:
    """What refuses a change that does not say that it comes from a page of this bench."""
    site, origin = told.get("sec-fetch-site", []), told.get("origin", [])
    own_site = site in ([], ["same-origin"])
    own_origin = origin == [] or (len(origin) == 1 and _host_of(origin[0]) == host)
    if own_site and own_origin and (site or origin):
        return None
    return _refuse(403, "A change must come from a page of this bench.")


def _host_of(origin: str) -> str:
    try:
        parts = urlsplit(origin.lower())
    except ValueError:
        return ""
    return parts.netloc if parts.scheme == "http" and not parts.path else ""


def _too_much(told: dict[str, list[str]]) -> Response | None:
    kind = told.get("content-type", [""])[0].partition(";")[0].strip().lower()
    if kind not in _WRITTEN:
        return _refuse(415, "A form is sent as a form.")
    length = told.get("content-length", ["0"])[0]
    if not length.isascii() or not length.isdigit():
        return _refuse(400, "The length of what is sent is no number.")
    return _refuse(413, _MORE) if int(length) > MOST_BYTES else None


_MORE = f"More is sent than is taken: at most {MOST_BYTES // 1024 // 1024} MiB."


def _cookies(told: list[str], name: str) -> list[str]:
    pairs = (piece.strip().partition("=") for line in told for piece in line.split(";"))
    return [value for key, _, value in pairs if key == name]


class TooMuch(Exception):
    """What is sent is too much or comes too slowly."""

    def __init__(self, status: int, why: str) -> None:
        super().__init__(why)
        self.status, self.why = status, why


class _Bounded:
    """Receives a body of at most so many bytes within so many seconds."""

    def __init__(self, receive: Receive) -> None:
        self.receive = receive
        self.size = 0
        self.until: float | None = None
        self.whole = False

    async def __call__(self) -> Message:
        if self.whole:  # the rest is whether the other side is still there
            return await self.receive()
        now = asyncio.get_running_loop().time()
        self.until = self.until or now + SECONDS_FOR_A_BODY
        try:
            message = await asyncio.wait_for(self.receive(), max(0.0, self.until - now))
        except TimeoutError:
            raise TooMuch(408, "What was to be sent did not come in time.") from None
        self.size += len(message.get("body", b""))
        if self.size > MOST_BYTES:
            raise TooMuch(413, _MORE)
        self.whole = not message.get("more_body", False)
        return message


class _Dressed:
    """Sends an answer with the headers that all answers have."""

    def __init__(self, send: Send) -> None:
        self.send = send

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {name.lower() for name, _ in message.get("headers", [])}
            message["headers"] = [
                *message.get("headers", []),
                *((name.encode(), value.encode()) for name, value in HEADERS.items()
                  if name.encode() not in own),
            ]  # fmt: skip
        await self.send(message)


async def too_much(request: object, error: Exception) -> Response:
    """What is answered to too much, or to what comes too slowly."""
    assert isinstance(error, TooMuch)
    return _refuse(error.status, error.why)


def _refuse(status: int, why: str) -> Response:
    return PlainTextResponse(f"{why}\n", status, {"connection": "close"})

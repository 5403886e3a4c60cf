"""What every request has to pass, and what every answer carries."""

import asyncio

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from companion.web.connections import Connections
from companion.web.door import Door
from companion.web.inside import ROOT

MOST_BODY = 1_000_000
"""Bytes a request may carry, from whoever is in."""

MOST_TOKEN = 100
"""Bytes that somebody may send who wants to come in."""

BODY_S = 5.0
"""Seconds in which it has to be here whole."""

COOKIE = "companion"
ENTER = "/enter"
ASSETS = "/assets/"
"""Like the door itself, given to somebody who has not come in: files that come with the program."""

POLICY = "; ".join(
    (
        "default-src 'none'",
        *(f"{kind}-src 'self'" for kind in ("script", "style", "img", "connect", "font", "media")),
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
"""Only what this server itself gives out is loaded, and nothing stands inline."""

HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


class Guard:
    """Wraps an application. Refuses a foreign Host, a foreign or missing Origin on whatever is not only read, bodies
    without a length or too long, and everybody whom the door does not know, who gets `door_page` instead. A body is
    here, whole, before the application is asked; nobody who is refused has one read."""

    def __init__(self, app: ASGIApp, door: Door, port: int, connections: Connections, door_page: Response) -> None:
        self._app = app
        self._door = door
        self._host = f"127.0.0.1:{port}"
        self._connections = connections
        self._door_page = door_page

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            raise RuntimeError(f"this server answers http only, not {scope['type']}")
        headers = Headers(scope=scope)
        known = self._door.opens(scope["path"], _cookies(headers))
        with self._connections.answering(scope["client"], known):
            answer = self._refusal(scope, headers, known)
            if answer is None and not _reads(scope):
                given = await _body(receive, _most(scope))
                if isinstance(given, Response):
                    answer = given
                else:
                    receive = given
            if answer is None and known:
                ROOT.set(self._door.root)
                scope = {**scope, "root_path": self._door.root}
            await (answer or self._app)(scope, receive, _with_headers(send))

    def _refusal(self, scope: Scope, headers: Headers, known: bool) -> Response | None:
        if headers.getlist("host") != [self._host]:
            return _refuse(421, f"this page answers to http://{self._host} only")
        reads = _reads(scope)
        if not reads and headers.getlist("origin") != [f"http://{self._host}"]:
            return _refuse(403, "a change is taken from this server's own pages only")
        path: str = scope["path"]
        if not (known or path == ENTER or path.startswith(ASSETS)):
            return self._door_page if reads else _refuse(403, "open the page with the address the program printed")
        length = headers.get("content-length", "0" if reads else "")
        if "transfer-encoding" in headers or not (length.isascii() and length.isdigit()):
            return _refuse(411, "a request has to say how long it is, and in no other way than by its length")
        if len(length) > 12 or int(length) > _most(scope):
            return _refuse(413, f"such a request may carry {_most(scope):,} bytes at most")
        return None


def _reads(scope: Scope) -> bool:
    return scope["method"] in ("GET", "HEAD")


def _most(scope: Scope) -> int:
    if _reads(scope):
        return 0
    return MOST_TOKEN if scope["path"] == ENTER else MOST_BODY


async def _body(receive: Receive, most: int) -> Receive | Response:
    """What hands the whole body on, or the refusal. Counted as it comes, whatever was said of its length."""
    body = b""
    try:
        async with asyncio.timeout(BODY_S):
            while True:
                message = await receive()
                if message["type"] == "http.disconnect":
                    return _refuse(400, "it broke off")
                body += message.get("body", b"")
                if len(body) > most:
                    return _refuse(413, f"such a request may carry {most:,} bytes at most")
                if not message.get("more_body"):
                    break
    except TimeoutError:
        return _refuse(408, "it did not come whole in time")
    rest: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def given() -> Message:
        return rest.pop() if rest else await receive()

    return given


def _cookies(headers: Headers) -> list[str]:
    """All of our name: another server of this machine may have set one as well, and must not shut anybody out."""
    pairs = (pair.strip().partition("=") for line in headers.getlist("cookie") for pair in line.split(";"))
    return [value for name, _, value in pairs if name == COOKIE]


def _refuse(status: int, why: str) -> Response:
    """The rest of what was sent is not waited for."""
    return PlainTextResponse(f"Refused: {why}.\n", status, {"Connection": "close"})


def _with_headers(send: Send) -> Send:
    async def with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
        await send(message)

    return with_headers

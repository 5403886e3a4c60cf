"""What every request has to pass, and what every answer carries."""

from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from companion.web.door import Door

MOST_BODY = 1_000_000
"""Bytes a request may carry."""

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

OPEN_PATHS = ("/enter", "/assets/")
"""What is answered to somebody who has not come in: the door itself, and files that come with the program."""


class Guard:
    """Wraps an application. Refuses a foreign Host, a foreign or missing Origin on whatever is not only read, bodies
    without a length or too long, and everybody without the cookie, who gets `door_page` instead."""

    def __init__(self, app: ASGIApp, door: Door, port: int, door_page: Response) -> None:
        self._app = app
        self._door = door
        self._host = f"127.0.0.1:{port}"
        self._cookie = cookie_name(port)
        self._door_page = door_page

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            raise RuntimeError(f"this server answers http only, not {scope['type']}")
        answer = self._refusal(scope)
        await (answer or self._app)(scope, receive, _with_headers(send))

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        if headers.getlist("host") != [self._host]:
            return _refuse(421, f"this page answers to http://{self._host} only")
        reads = scope["method"] in ("GET", "HEAD")
        if not reads:
            if headers.getlist("origin") != [f"http://{self._host}"]:
                return _refuse(403, "a change is taken from this server's own pages only")
            length = headers.get("content-length", "")
            if not (length.isascii() and length.isdigit()):
                return _refuse(411, "a request has to say how long it is")
            if len(length) > 12 or int(length) > MOST_BODY:
                return _refuse(413, f"a request may carry {MOST_BODY:,} bytes at most")
        path: str = scope["path"]
        if path == OPEN_PATHS[0] or path.startswith(OPEN_PATHS[1]) or self._knows(headers):
            return None
        return self._door_page if reads else _refuse(403, "open the page with the address the program printed")

    def _knows(self, headers: Headers) -> bool:
        try:
            morsel = SimpleCookie(headers.get("cookie", "")).get(self._cookie)
        except CookieError:
            return False
        return morsel is not None and self._door.knows(morsel.value)


def cookie_name(port: int) -> str:
    """Cookies do not know ports, so the name does: two servers on one machine do not trip over each other."""
    return f"companion-{port}"


def _refuse(status: int, why: str) -> Response:
    return PlainTextResponse(f"Refused: {why}.\n", status)


def _with_headers(send: Send) -> Send:
    async def with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
        await send(message)

    return with_headers

"""A server on 127.0.0.1 and a port nobody can foresee, in a thread of its own."""

import asyncio
import logging
import socket
import sys
import threading
import time
from collections.abc import Sequence
from types import TracebackType

import uvicorn
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import BaseRoute, Route
from uvicorn.protocols.http.h11_impl import H11Protocol

from companion.errors import UsageError
from companion.web.connections import IDLE_S, Connections
from companion.web.door import Door
from companion.web.guard import COOKIE, ENTER, Guard
from companion.web.pages import asset, page

_START_S = 10.0
_STOP_S = 3
_WAITING = 64
"""Connections that the system keeps for us until we take them."""


class LocalServer:
    """Serves `routes` to whoever comes with a token it gave out. Use it as a context manager.

    Routes need no checks of their own: `Guard` stands before all of them. Nothing is sent anywhere else.
    """

    def __init__(self, routes: Sequence[BaseRoute]) -> None:
        """Raises UsageError where no port can be had."""
        self._socket = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        try:
            self._socket.bind(("127.0.0.1", 0))
            self._socket.listen(_WAITING)
        except OSError as fault:
            self._socket.close()
            raise UsageError(f"no page can be shown: 127.0.0.1 gives no port ({fault.strerror})") from fault
        self._socket.setblocking(False)
        self.port: int = self._socket.getsockname()[1]
        self.origin = f"http://127.0.0.1:{self.port}"
        self.door = Door()
        app = Starlette(
            routes=[
                Route(ENTER, self._enter, methods=["POST"]),
                Route("/assets/{name}", asset),
                *routes,
            ],
            exception_handlers={HTTPException: _plain, Exception: _sorry},
        )
        app.router.redirect_slashes = False  # one thing, one address
        connections = Connections(self._socket, _tell)
        self.app = Guard(app, self.door, self.port, connections, page("door.html", 403))
        config = uvicorn.Config(
            self.app,
            loop="asyncio",
            http="h11",
            ws="none",
            lifespan="off",
            log_config=None,
            access_log=False,
            server_header=False,
            timeout_keep_alive=IDLE_S,
            timeout_graceful_shutdown=_STOP_S,
        )
        _quiet()
        self._server = _Server(config, connections)
        self._thread = threading.Thread(target=self._run, name="pages", daemon=True)

    def __enter__(self) -> "LocalServer":
        self._thread.start()
        until = time.monotonic() + _START_S
        while not self._server.started:
            if not self._thread.is_alive() or time.monotonic() > until:
                self.stop()
                raise UsageError("no page can be shown: the server on 127.0.0.1 did not start")
            time.sleep(0.005)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()

    def address(self, path: str = "/") -> str:
        """An address that opens once. What stands after the # never leaves the browser, so it is in no log."""
        return f"{self.origin}{path}#{self.door.new_token()}"

    def stop(self) -> None:
        """Ends every connection; returns within a few seconds whatever pages do."""
        self._server.should_exit = True
        if self._thread.ident is not None:
            self._thread.join(_STOP_S + 2)
        self._socket.close()

    def _run(self) -> None:
        self._server.run(sockets=[])

    async def _enter(self, request: Request) -> Response:
        token = (await request.body()).decode("utf-8", "replace")
        cookie = self.door.enter(token)
        if cookie is None:
            return PlainTextResponse("Refused: this address was used already, or is none of ours.\n", 403)
        answer = PlainTextResponse(self.door.root)
        answer.set_cookie(COOKIE, cookie, httponly=True, samesite="strict", path=f"{self.door.root}/")
        return answer


class _Server(uvicorn.Server):
    """Uvicorn, which is given connections and takes none itself."""

    def __init__(self, config: uvicorn.Config, connections: Connections) -> None:
        super().__init__(config)
        self._connections = connections
        self._accepting: asyncio.Task[None] | None = None

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        self._accepting = asyncio.create_task(self._connections.accept(self._protocol))
        await super().startup(sockets)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        if self._accepting is not None:
            self._accepting.cancel()
        await super().shutdown(sockets)

    def _protocol(self) -> asyncio.Protocol:
        return H11Protocol(self.config, self.server_state, app_state={})


def _plain(_: Request, fault: Exception) -> Response:
    """A page that is not there, or a method it does not take, in a few words."""
    status = fault.status_code if isinstance(fault, HTTPException) else 400
    words = {404: "Not found.", 405: "Not that way."}.get(status, "That cannot be answered.")
    return PlainTextResponse(f"{words}\n", status)


def _sorry(_: Request, __: Exception) -> Response:
    """What no user should meet: the session goes on, the page says that it cannot."""
    return PlainTextResponse("The page failed; the session is not touched by it.\n", 500)


def _tell(line: str) -> None:
    print(f"* {line}", file=sys.stderr, flush=True)


def _quiet() -> None:
    """The server's own messages are no text for a user's terminal."""
    log = logging.getLogger("uvicorn")
    log.propagate = False
    if not log.handlers:
        log.addHandler(logging.NullHandler())

"""The page at the point of care: its routes, and all that stands behind them."""

from collections.abc import Callable
from types import TracebackType

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from companion.core.procedure import Procedure
from companion.core.state import State
from companion.session.display import Display
from companion.web.live import Board
from companion.web.maps import plain_map
from companion.web.pages import page
from companion.web.screen import ScreenDisplay
from companion.web.server import LocalServer


class Bedside:
    """A server with the page of one session. Use it as a context manager; give the session `display`, call
    `display.follow` with it before it begins, and open `address()`."""

    def __init__(
        self,
        procedure: Procedure,
        terminal: Display,
        *,
        hears: bool,
        type_line: Callable[[str], bool] | None = None,
        site_map: Callable[[State], str] | None = None,
        on_gone: Callable[[], None] = lambda: None,
    ) -> None:
        """`terminal` is shown the same; `hears`: there is a microphone; `type_line` takes what is typed on the page,
        where it may be typed there; `site_map` draws the body as SVG, without it the zones alone are drawn; `on_gone`
        is called in another thread when the last page was closed. Raises UsageError where no port can be had."""
        self.board = Board(on_gone)
        draw = site_map or (lambda _: plain_map(procedure))
        self.display = ScreenDisplay(terminal, self.board, hears=hears, types=type_line is not None, site_map=draw)
        self._language = procedure.language
        self._type_line = type_line
        self._server = LocalServer(
            [
                Route("/", self._page),
                Route("/events", self._events),
                Route("/map", self._map),
                Route("/line", self._line, methods=["POST"]),
            ]
        )
        self.address = self._server.address
        self.origin = self._server.origin

    def __enter__(self) -> "Bedside":
        self._server.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.display.close()
        self.board.end()
        self._server.stop()

    async def _page(self, _: Request) -> Response:
        return page("bedside.html", language=self._language)

    async def _events(self, _: Request) -> Response:
        return self.board.stream()

    async def _map(self, _: Request) -> Response:
        svg = self.display.drawing
        return Response(svg, media_type="image/svg+xml") if svg else PlainTextResponse("No map now.\n", 404)

    async def _line(self, request: Request) -> Response:
        if self._type_line is None:
            return PlainTextResponse("Refused: nothing can be typed in this session.\n", 403)
        text = (await request.body()).decode("utf-8", "replace").strip()
        if not self._type_line(text):
            return PlainTextResponse("Refused: too long, or too many at once.\n", 429)
        return Response(status_code=204)

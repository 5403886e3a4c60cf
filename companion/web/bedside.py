"""The page of one session, at the point of care or rehearsed: its routes, and all that stands behind them."""

from collections.abc import Callable
from types import TracebackType
from typing import Self

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from companion.conversation.room import Display
from companion.procedure.model import Procedure
from companion.session.state import State
from companion.web.live import Board
from companion.web.maps import plain_map
from companion.web.pages import page
from companion.web.rehearsing import RehearsalScreen
from companion.web.screen import ScreenDisplay
from companion.web.server import LocalServer


class LivePage:
    """A server with one page that follows a board. A context manager; `address()` opens the page once."""

    display: Display
    """Shows on the page, and on the terminal, what a session or a rehearsal shows."""

    def __init__(
        self,
        language: str,
        *,
        type_line: Callable[[str], bool] | None = None,
        on_gone: Callable[[], None] = lambda: None,
    ) -> None:
        """`type_line` takes what is typed on the page, where it may be typed there; `on_gone` is called in another
        thread when the last page was closed. Raises UsageError where no port can be had."""
        self.board = Board(on_gone)
        self._language = language
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

    def drawing(self) -> str:
        """The picture beside the words, as SVG; empty where there is none."""
        return ""

    def last_words(self) -> None:
        """The program stops: tell the page."""

    def __enter__(self) -> Self:
        self._server.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.last_words()
        self.board.end()
        self._server.stop()

    async def _page(self, _: Request) -> Response:
        # The field stands in the page as it comes, so that no key is lost before the first picture arrives.
        now = self.board.latest
        types = bool(now.get("types", self._type_line is not None))
        return page("bedside.html", language=self._language, types=types, hidden=bool(now.get("hidden")))

    async def _events(self, _: Request) -> Response:
        return self.board.stream()

    async def _map(self, _: Request) -> Response:
        svg = self.drawing()
        return Response(svg, media_type="image/svg+xml") if svg else PlainTextResponse("No map now.\n", 404)

    async def _line(self, request: Request) -> Response:
        if self._type_line is None:
            return PlainTextResponse("Refused: nothing can be typed in this session.\n", 403)
        text = (await request.body()).decode("utf-8", "replace").strip()
        if not self._type_line(text):
            return PlainTextResponse("Refused: too long, or too many at once.\n", 429)
        return Response(status_code=204)


class Bedside(LivePage):
    """The page at the point of care. Give the session `display`, and call `display.follow` with it before it begins."""

    display: ScreenDisplay

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
        """`terminal` is shown the same; `hears`: there is a microphone; `site_map` draws the body as SVG, without it
        the zones alone are drawn."""
        super().__init__(procedure.language, type_line=type_line, on_gone=on_gone)
        draw = site_map or (lambda _: plain_map(procedure))
        self.display = ScreenDisplay(terminal, self.board, hears=hears, types=type_line is not None, site_map=draw)

    def drawing(self) -> str:
        return self.display.drawing

    def last_words(self) -> None:
        self.display.close()


class RehearsalPage(LivePage):
    """The page of a rehearsal. Give the rehearsal `display`, and `display.judged` its judgement."""

    display: RehearsalScreen

    def __init__(
        self,
        procedure: Procedure,
        level: str,
        terminal: Display,
        *,
        hears: bool,
        type_line: Callable[[str], bool] | None = None,
        on_gone: Callable[[], None] = lambda: None,
    ) -> None:
        """`level` is the level of help."""
        super().__init__(procedure.language, type_line=type_line, on_gone=on_gone)
        types = type_line is not None
        self.display = RehearsalScreen(terminal, self.board, procedure, level, hears=hears, types=types)

    def last_words(self) -> None:
        self.display.close()

"""The latest of something, followed by any number of pages. Whoever publishes never waits for a page."""

import asyncio
import json
import threading
import time
from collections.abc import AsyncIterator, Callable, Mapping
from typing import Any

from sse_starlette import EventSourceResponse, ServerSentEvent

_RETRY_MS = 1000
"""How soon a page that lost us tries again."""

_ALIVE_S = 5
"""A sign of life this often, so that a page notices when there is none."""

_SEND_S = 10.0
"""A page that takes nothing for so long is let go."""

_GONE_S = 3.0
"""A page that is only loaded anew is back within this time."""


class Board:
    """Holds one snapshot: JSON values. A page that is slow, or comes late, gets the latest and misses those between,
    so that a snapshot has to tell everything a page needs."""

    def __init__(
        self, on_gone: Callable[[], None] = lambda: None, monotonic: Callable[[], float] = time.monotonic
    ) -> None:
        """`on_gone` is called, in the server's thread, when the last page has gone and did not come back."""
        self._on_gone = on_gone
        self._monotonic = monotonic
        self._lock = threading.Lock()
        self._number = 0
        self._body: Mapping[str, Any] = {}
        self._made = monotonic()
        self._ended = False
        self._left = 0
        self._followers: dict[asyncio.Event, asyncio.AbstractEventLoop] = {}
        self._seen: dict[asyncio.Event, int] = {}

    def publish(self, body: Mapping[str, Any]) -> None:
        """From any thread; returns at once."""
        with self._lock:
            self._number += 1
            self._body, self._made = body, self._monotonic()
            self._wake()

    def end(self, wait_s: float = 1.0) -> None:
        """No more will come: every page gets the last snapshot and its stream ends. Waits no longer than `wait_s`."""
        with self._lock:
            self._ended = True
            self._wake()
        until = time.monotonic() + wait_s
        while self.followers and time.monotonic() < until:
            time.sleep(0.01)

    @property
    def latest(self) -> Mapping[str, Any]:
        """The snapshot that a page would get now; empty before the first."""
        with self._lock:
            return self._body

    @property
    def followers(self) -> int:
        """Pages that are following now."""
        with self._lock:
            return len(self._followers)

    def stream(self) -> EventSourceResponse:
        """The answer to a page that wants to follow."""
        return EventSourceResponse(
            self._events(), ping=_ALIVE_S, ping_message_factory=_alive, send_timeout=_SEND_S, sep="\n"
        )

    def _wake(self) -> None:
        """Each follower's loop is told once, however often we publish before it looks."""
        for event, loop in self._followers.items():
            if self._seen[event] >= 0:
                self._seen[event] = -1
                loop.call_soon_threadsafe(event.set)

    async def _events(self) -> AsyncIterator[ServerSentEvent]:
        event = asyncio.Event()
        with self._lock:
            self._followers[event] = asyncio.get_running_loop()
            self._seen[event] = -1
        event.set()
        sent = 0
        try:
            while True:
                await event.wait()
                event.clear()
                with self._lock:
                    number, body, made, ended = self._number, self._body, self._made, self._ended
                    self._seen[event] = number
                if number != sent:
                    sent = number
                    age_ms = round((self._monotonic() - made) * 1000)
                    data = json.dumps({**body, "age_ms": age_ms}, ensure_ascii=False)
                    yield ServerSentEvent(data=data, id=str(number), retry=_RETRY_MS)
                if ended:
                    return
        finally:
            with self._lock:
                del self._followers[event], self._seen[event]
                self._left += 1
                left, ended = self._left, self._ended
            if not ended:
                asyncio.get_running_loop().call_later(_GONE_S, self._look_round, left)

    def _look_round(self, left: int) -> None:
        """After a page left; where another left since then, it is that one's turn to look."""
        with self._lock:
            alone = not self._followers and not self._ended and left == self._left
        if alone:
            self._on_gone()


def _alive() -> ServerSentEvent:
    """A comment would do for the connection, but a page cannot see it."""
    return ServerSentEvent(event="alive", data="")

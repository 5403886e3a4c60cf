"""Who is connected, and for how long: strangers on this machine must not use up what those who are in need."""

import asyncio
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

MOST_STRANGERS = 64
"""Connections that have not shown that they may come in. One more, and the oldest of them is closed."""

MOST_KNOWN = 64
"""Connections from inside: a browser opens six to one server, and the educator may have some windows."""

IDLE_S = 5
"""Seconds in which a connection has to have asked something whole, and again after each answer."""

_LOOK_S = 0.5
_PAUSE_S = 0.5


@dataclass
class _Connection:
    since: float
    """When it was last answered, or came; seconds of the loop's clock."""
    transport: asyncio.Transport | None = None
    known: bool = False
    busy: bool = False

    @property
    def gone(self) -> bool:
        return self.transport is not None and self.transport.is_closing()


@dataclass
class Connections:
    """Takes connections from a listening socket, and closes those that ask nothing. All of it in the server's loop."""

    listener: socket.socket
    tell: Callable[[str], None]
    """Takes one line for the user, once, when the system gives no more connections."""
    _all: dict[int, _Connection] = field(default_factory=dict)
    """By the other end's port, the oldest first."""

    async def accept(self, protocol: Callable[[], asyncio.Protocol]) -> None:
        """Until it is cancelled. Where the system has no more to give, it waits a little and tries again: asyncio's own
        way of accepting calls for itself more and more often then, with a traceback each time."""
        loop = asyncio.get_running_loop()
        told = False
        looking = loop.create_task(self._look_round())
        try:
            while True:
                try:
                    wire, (_, port) = await loop.sock_accept(self.listener)
                except ConnectionAbortedError:
                    continue
                except OSError as fault:
                    if not told:
                        self.tell(
                            f"The page takes nobody new at the moment ({fault.strerror}); it tries again by itself"
                        )
                    told = True
                    await asyncio.sleep(_PAUSE_S)
                    continue
                self._make_room()
                self._all[port] = new = _Connection(loop.time())
                new.transport, _ = await loop.connect_accepted_socket(protocol, wire)
        finally:
            looking.cancel()

    @contextmanager
    def answering(self, client: tuple[str, int] | None, known: bool) -> Iterator[None]:
        """While a request of `client` (host and port; None: gone already) is answered. `known`: it may come in."""
        found = self._all.get(client[1]) if client else None
        if found is None:
            yield
            return
        found.busy = True
        found.known = found.known or (known and sum(each.known for each in self._all.values()) < MOST_KNOWN)
        try:
            yield
        finally:
            found.busy = False
            found.since = asyncio.get_running_loop().time()

    def _make_room(self) -> None:
        self._forget()
        strangers = [each for each in self._all.values() if not each.known and each.transport is not None]
        if len(strangers) >= MOST_STRANGERS:
            _drop(strangers[0])

    async def _look_round(self) -> None:
        while True:
            await asyncio.sleep(_LOOK_S)
            self._forget()
            late = asyncio.get_running_loop().time() - IDLE_S
            for each in self._all.values():
                if not each.busy and each.since < late:
                    _drop(each)

    def _forget(self) -> None:
        self._all = {port: each for port, each in self._all.items() if not each.gone}


def _drop(connection: _Connection) -> None:
    """Whoever is in gets what was already answered; a stranger may not even have taken that."""
    if connection.transport is not None:
        (connection.transport.close if connection.known else connection.transport.abort)()

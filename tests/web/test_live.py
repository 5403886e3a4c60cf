"""Whoever publishes never waits for a page, and a page that comes late gets the latest."""

import json
import socket
from collections.abc import Iterator
from time import sleep

import pytest
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from companion.web.live import Board
from companion.web.server import LocalServer
from tests.waiting import until
from tests.web.test_security import cookie


class Running:
    """A board behind a server."""

    def __init__(self) -> None:
        self.gone: list[bool] = []
        self.board = Board(on_gone=lambda: self.gone.append(True))
        self.server = LocalServer([Route("/events", self._events)])

    async def _events(self, _: Request) -> Response:
        return self.board.stream()

    def follow(self, receive: int | None = None) -> socket.socket:
        """A connection that asked for the events and has read nothing; `receive` bytes of buffer on our side."""
        wire = socket.socket()
        if receive is not None:
            wire.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, receive)
        wire.settimeout(20)
        wire.connect(("127.0.0.1", self.server.port))
        host = f"Host: 127.0.0.1:{self.server.port}\r\nCookie: {cookie(self.server)}\r\n"
        followers = self.board.followers
        wire.sendall(f"GET {self.server.door.root}/events HTTP/1.1\r\n{host}\r\n".encode())
        until(lambda: self.board.followers > followers, 20)
        return wire


@pytest.fixture
def running() -> Iterator[Running]:
    found = Running()
    with found.server:
        yield found
        found.board.end(0)


def numbers(wire: socket.socket, last: int) -> list[int]:
    """The numbers of the pictures read from a stream, up to `last`."""
    found: list[int] = []
    rest = b""
    while not found or found[-1] != last:
        rest += wire.recv(1 << 16)
        *lines, rest = rest.split(b"\n")
        found += [json.loads(line[6:])["n"] for line in lines if line.startswith(b'data: {"')]
    return found


def test_a_page_that_comes_late_gets_the_latest(running: Running) -> None:
    for n in range(5):
        running.board.publish({"n": n})
    with running.follow() as wire:
        assert numbers(wire, 4) == [4]
        running.board.publish({"n": 5})
        assert numbers(wire, 5) == [5]


def test_a_page_that_reads_nothing_gets_no_backlog(running: Running) -> None:
    """Two thousand pictures of 100 kB are published while it sleeps: 200 MB that nobody keeps for it."""
    with running.follow(receive=4096) as slow, running.follow() as quick:
        for n in range(2000):
            running.board.publish({"n": n, "much": "x" * 100_000})
        assert numbers(quick, 1999)[-1] == 1999, "the other one is not held up"
        got = numbers(slow, 1999)
        # What the kernel's buffers took in before they were full, and then the latest.
        assert got[-1] == 1999 and len(got) < 200


def test_the_last_page_that_goes_is_noticed_unless_it_comes_back(running: Running) -> None:
    with running.follow():
        pass
    with running.follow() as wire:
        running.board.publish({"n": 1})
        numbers(wire, 1)
        until(lambda: running.board.followers == 1, 20)
        assert running.gone == []
    until(lambda: running.gone != [], 20)
    sleep(1)  # the look round after the first page is over as well
    assert running.gone == [True]


def test_the_end_is_told_and_closes_the_stream(running: Running) -> None:
    with running.follow() as wire:
        running.board.publish({"n": 7})
        running.board.end(20)
        assert running.board.followers == 0
        assert numbers(wire, 7) == [7]


def test_a_server_stops_whatever_its_pages_do(running: Running) -> None:
    with running.follow(receive=4096):
        for n in range(100):
            running.board.publish({"n": n, "much": "x" * 100_000})
        running.server.stop()
        assert not running.server._thread.is_alive()

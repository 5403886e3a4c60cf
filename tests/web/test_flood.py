"""Strangers on this machine who send much, or nothing, or open many connections, do not stop the page.

How a body comes is told by RFC 9112, 6; that both ways at once is an attack stands there in 6.1. The numbers of idle
connections and megabytes are those with which the page was once stopped."""

import http.client
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from http.cookies import SimpleCookie
from pathlib import Path

import pytest
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from companion.web.connections import IDLE_S, MOST_STRANGERS
from companion.web.guard import MOST_BODY, MOST_TOKEN
from companion.web.server import LocalServer
from tests.waiting import until
from tests.web.test_security import ask, cookie

taken: list[bytes] = []
SERVED = """
import resource, sys
from pathlib import Path
from starlette.responses import PlainTextResponse
from starlette.routing import Route
from companion.web.server import LocalServer

async def read(_):
    return PlainTextResponse("inside")

with LocalServer([Route("/", read)]) as server:
    free, = map(int, sys.argv[1:])
    most = len(list(Path("/proc/self/fd").iterdir())) + free
    resource.setrlimit(resource.RLIMIT_NOFILE, (most, most))
    print(server.address(), flush=True)
    sys.stdin.read()
"""
on_linux = pytest.mark.skipif(sys.platform != "linux", reason="counts open files by /proc")


async def _change(request: Request) -> Response:
    taken.append(await request.body())
    return PlainTextResponse("changed")


@pytest.fixture
def server() -> Iterator[LocalServer]:
    taken.clear()
    with LocalServer([Route("/change", _change, methods=["POST"])]) as running:
        yield running


def connect(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), timeout=30)


def head(server: LocalServer, path: str, *lines: str) -> bytes:
    own = (f"POST {path} HTTP/1.1", f"Host: 127.0.0.1:{server.port}", f"Origin: {server.origin}")
    return "\r\n".join((*own, *lines, "", "")).encode()


def answer(wire: socket.socket) -> bytes:
    """All that comes until the other end closes."""
    found = b""
    try:
        while more := wire.recv(65536):
            found += more
    except ConnectionError:
        pass
    return found


def poured(wire: socket.socket, piece: bytes, most: int) -> int:
    """Bytes that could be sent before the other end would have no more."""
    sent = 0
    try:
        while sent < most:
            sent += wire.send(piece)
    except ConnectionError:
        pass
    return sent


@pytest.mark.parametrize(
    "lines", [("Content-Length: 43", "Transfer-Encoding: chunked"), ("Transfer-Encoding: chunked",)]
)
@pytest.mark.parametrize("inside", [False, True])
def test_a_thousand_megabytes_without_an_honest_length_are_not_taken(
    server: LocalServer, lines: tuple[str, ...], inside: bool
) -> None:
    path, who = ("/enter", ()) if not inside else (f"{server.door.root}/change", (f"Cookie: {cookie(server)}",))
    with connect(server.port) as wire:
        wire.sendall(head(server, path, *lines, *who))
        sent = poured(wire, b"10000\r\n" + b"x" * 0x10000 + b"\r\n", 1_000_000_000)
        assert sent < 30_000_000, "no more than what the system holds in its buffers"
    with connect(server.port) as wire:
        wire.sendall(head(server, path, *lines, *who))
        assert answer(wire).split()[1] in (b"400", b"411")
    assert taken == []


@pytest.mark.parametrize(
    ("path", "length", "status"),
    [
        ("/enter", MOST_TOKEN + 1, 413),
        ("/change", 5, 403),
        ("/nowhere", MOST_BODY, 403),
        ("{root}/change", MOST_BODY, 403),
    ],
)
def test_whoever_is_not_in_is_refused_before_anything_is_read(
    server: LocalServer, path: str, length: int, status: int
) -> None:
    with connect(server.port) as wire:
        wire.sendall(head(server, path.format(root=server.door.root), f"Content-Length: {length}"))
        said = answer(wire)
    assert int(said.split()[1]) == status and b"connection: close" in said.lower()


def test_a_page_is_asked_for_without_a_body(server: LocalServer) -> None:
    for path in ("/assets/base.css", "/"):
        found = ask(server, "GET", path, b"x", Content_Length="1", Cookie=cookie(server))
        assert found.status == 413


@pytest.mark.parametrize("inside", [False, True])
def test_what_is_half_sent_is_closed_after_some_seconds_and_never_taken(server: LocalServer, inside: bool) -> None:
    path, who = ("/enter", ()) if not inside else (f"{server.door.root}/change", (f"Cookie: {cookie(server)}",))
    whole = head(server, path, "Content-Length: 43", *who)
    begun = time.monotonic()
    with ExitStack() as open_:
        wires = []
        for part in (b"", b"P", whole[:40], whole[:-2], whole, whole + b"x" * 42):
            wires.append(open_.enter_context(connect(server.port)))
            wires[-1].sendall(part)
        for wire in wires:
            assert answer(wire).partition(b"\r\n")[0] in (b"", b"HTTP/1.1 408 Request Timeout")
    assert time.monotonic() - begun < 45, "so long they stayed open once"
    with connect(server.port) as wire:
        wire.sendall(whole + b"x" * 42)
    ask(server, "GET", "/")
    assert taken == []


def test_dripping_keeps_nothing_open(server: LocalServer) -> None:
    begun = time.monotonic()
    with connect(server.port) as wire:
        for byte in head(server, "/enter", "X: " + "x" * 10_000):
            try:
                wire.sendall(bytes((byte,)))
            except ConnectionError:
                break
            time.sleep(0.1)
            if time.monotonic() - begun > 45:
                break
    assert IDLE_S - 1 < time.monotonic() - begun < 45


@contextmanager
def served(free: int, complaints: Path) -> Iterator[tuple[int, str, str]]:
    """A server of its own with so many more files to open; port, path and cookie of somebody who has come in."""
    with (
        complaints.open("w") as errors,
        subprocess.Popen(
            [sys.executable, "-c", SERVED, str(free)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=errors,
            text=True,
        ) as process,
    ):
        assert process.stdout is not None and process.stdin is not None
        origin, token = process.stdout.readline().strip().split("/#")
        port = int(origin.rpartition(":")[2])
        try:
            with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=30)) as wire:
                wire.request("POST", "/enter", token, {"Origin": origin})
                found = wire.getresponse()
                morsel = SimpleCookie(found.headers["set-cookie"])["companion"]
                yield port, found.read().decode(), f"{morsel.key}={morsel.value}"
        finally:
            process.stdin.close()
            if process.wait(30) != 0:
                raise AssertionError(complaints.read_text())


def reads(port: int, root: str, who: str) -> bool:
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=30)) as wire:
        wire.request("GET", f"{root}/", headers={"Cookie": who})
        return wire.getresponse().read() == b"inside"


@on_linux
def test_a_thousand_idle_strangers_leave_the_page_to_those_who_are_in(tmp_path: Path) -> None:
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(max(soft, 4096), hard), hard))
    with served(1000, tmp_path / "errors") as (port, root, who), ExitStack() as open_:
        wires = [open_.enter_context(connect(port)) for _ in range(1020)]
        assert reads(port, root, who)
        wires += [open_.enter_context(connect(port)) for _ in range(1020)]
        assert reads(port, root, who)
        for wire in wires:
            wire.setblocking(False)

        def held() -> int:
            return sum(_is_open(wire) for wire in wires)

        until(lambda: held() <= MOST_STRANGERS, 30)
        until(lambda: held() == 0, 30)
        assert reads(port, root, who)
    assert (tmp_path / "errors").read_text() == ""


def _is_open(wire: socket.socket) -> bool:
    try:
        return bool(wire.recv(1))
    except BlockingIOError:
        return True
    except ConnectionError:
        return False


@on_linux
def test_where_the_system_has_no_more_files_it_says_so_in_one_line_and_goes_on(tmp_path: Path) -> None:
    with served(8, tmp_path / "errors") as (port, root, who), ExitStack() as open_:
        for _ in range(40):
            open_.enter_context(connect(port))
        until(lambda: (tmp_path / "errors").stat().st_size > 0, 30)
        time.sleep(3)
        open_.close()
        assert reads(port, root, who)
    (line,) = (tmp_path / "errors").read_text().splitlines()
    assert line.startswith("* The page takes nobody new at the moment (Too many open files)")

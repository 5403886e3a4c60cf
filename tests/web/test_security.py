"""The page on localhost answers nobody but the one who was given its address.

The rules tested are those of OWASP's cheat sheets (Cross-Site Request Forgery, Content Security Policy, Session
Management) and, for DNS rebinding, of the Host check they advise; from memory.
"""

import http.client
import socket
from collections.abc import Iterator
from http.cookies import SimpleCookie

import pytest
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from companion.web.guard import MOST_BODY
from companion.web.server import LocalServer

SECRET = "what only the owner may read"
taken: list[bytes] = []


async def _read(_: Request) -> Response:
    return PlainTextResponse(SECRET)


async def _change(request: Request) -> Response:
    taken.append(await request.body())
    return PlainTextResponse("changed")


async def _fails(_: Request) -> Response:
    raise RuntimeError("boom")


@pytest.fixture
def server() -> Iterator[LocalServer]:
    taken.clear()
    routes = [Route("/", _read), Route("/change", _change, methods=["POST"]), Route("/fails", _fails)]
    with LocalServer(routes) as running:
        yield running


class Answer:
    """Status, headers (lower case) and text of one request, made on a connection of its own."""

    def __init__(self, server: LocalServer, method: str, path: str, headers: dict[str, str], body: bytes) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=10)
        connection.putrequest(method, path, skip_host="Host" in headers, skip_accept_encoding=True)
        for name, value in headers.items():
            connection.putheader(name, value)
        connection.endheaders(body)
        found = connection.getresponse()
        self.status = found.status
        self.headers = {name.lower(): value for name, value in found.getheaders()}
        self.text = found.read().decode()
        connection.close()


def ask(server: LocalServer, method: str, path: str, body: bytes = b"", /, **headers: str) -> Answer:
    """`Host` and `Content-Length` come by themselves unless given; underscores in names stand for hyphens. With a
    cookie it goes under the path that our cookies hold for, as our own pages ask."""
    path = server.door.root + path if "Cookie" in headers else path
    given = {name.replace("_", "-"): value for name, value in headers.items()}
    if method not in ("GET", "HEAD") and "Content-Length" not in given:
        given["Content-Length"] = str(len(body))
    return Answer(server, method, path, given, body)


def enter(server: LocalServer, token: str | None = None) -> Answer:
    return ask(server, "POST", "/enter", (token or server.door.new_token()).encode(), Origin=server.origin)


def cookie(server: LocalServer) -> str:
    morsel = next(iter(SimpleCookie(enter(server).headers["set-cookie"]).values()))
    return f"{morsel.key}={morsel.value}"


def test_it_listens_on_loopback_only(server: LocalServer) -> None:
    assert server._socket.getsockname()[0] == "127.0.0.1"
    with LocalServer([]) as another:
        assert another.port != server.port


def test_with_the_token_one_comes_in(server: LocalServer) -> None:
    address, token = server.address().split("#")
    assert address == f"{server.origin}/" and len(token) >= 43, "256 bits in base64"
    answer = enter(server, token)
    assert (answer.status, answer.text) == (200, server.door.root)
    assert len(server.door.root) >= 44 and answer.headers["cache-control"] == "no-store"
    morsel = SimpleCookie(answer.headers["set-cookie"])["companion"]
    assert morsel["httponly"] is True and morsel["samesite"].lower() == "strict" and not morsel["domain"]
    assert morsel["path"] == f"{server.door.root}/", "browsers send it nowhere else (RFC 6265, 5.1.4), on any port"
    inside = ask(server, "GET", "/", Cookie=f"{morsel.key}={morsel.value}")
    assert (inside.status, inside.text) == (200, SECRET)


def test_a_token_opens_once(server: LocalServer) -> None:
    token = server.door.new_token()
    assert enter(server, token).status == 200
    again = enter(server, token)
    assert again.status == 403 and "set-cookie" not in again.headers


@pytest.mark.parametrize("token", ["x", "", "A" * 43, "\x00", "é" * 43])
def test_a_made_up_token_opens_nothing(server: LocalServer, token: str) -> None:
    answer = ask(server, "POST", "/enter", token.encode(), Origin=server.origin)
    assert answer.status == 403 and "set-cookie" not in answer.headers


@pytest.mark.parametrize(
    "sent", ["", "companion-1=x", "companion=", "companion=made-up", "companion", "\x7f;=;companion=%00"]
)
def test_the_path_without_the_cookie_opens_nothing_but_the_door(server: LocalServer, sent: str) -> None:
    """Whoever reads the address off the screen has only that."""
    for path in ("/", "/nowhere"):
        answer = Answer(server, "GET", server.door.root + path, {"Cookie": sent} if sent else {}, b"")
        assert answer.status == 403 and SECRET not in answer.text and "door.js" in answer.text
        assert server.door.root not in answer.text


@pytest.mark.parametrize("path", ["/", "/nowhere", "/x{root}/", "//{root}/", "{root}x/", "/./{root}", "{half}/"])
def test_the_cookie_without_the_path_opens_nothing_but_the_door(server: LocalServer, path: str) -> None:
    """Whoever came by a cookie has only that."""
    root = server.door.root
    headers = {"Cookie": cookie(server)}
    answer = Answer(server, "GET", path.format(root=root, half=root[:-1]), headers, b"")
    assert answer.status == 403 and SECRET not in answer.text and "door.js" in answer.text
    changed = {**headers, "Origin": server.origin, "Content-Length": "1"}
    assert Answer(server, "POST", "/change", changed, b"x").status == 403 and taken == []


def test_a_cookie_set_by_another_server_shuts_nobody_out(server: LocalServer) -> None:
    """Cookies know no ports: another server of this machine may set one of the same name."""
    own = cookie(server)
    for sent in (f"companion=theirs; {own}", f"{own}; companion=theirs"):
        assert ask(server, "GET", "/", Cookie=sent).text == SECRET


def test_two_servers_do_not_open_each_other(server: LocalServer) -> None:
    with LocalServer([Route("/", _read)]) as another:
        for path in (server.door.root, another.door.root):
            assert Answer(another, "GET", f"{path}/", {"Cookie": cookie(server)}, b"").status == 403


@pytest.mark.parametrize("host", ["evil.example", "localhost:{port}", "127.0.0.1", "127.0.0.1:1", "[::1]:{port}", ""])
def test_a_foreign_host_is_refused(server: LocalServer, host: str) -> None:
    """DNS rebinding: a foreign name that leads to 127.0.0.1 still stands in the Host line."""
    named = host.format(port=server.port)
    answer = ask(server, "GET", "/", Host=named, Cookie=cookie(server))
    assert answer.status in (400, 421) and SECRET not in answer.text


def test_two_hosts_or_none_are_refused(server: LocalServer) -> None:
    own = f"Host: 127.0.0.1:{server.port}\r\n"
    for lines in ("", own + "Host: evil.example\r\n", own + own):
        with socket.create_connection(("127.0.0.1", server.port), timeout=10) as wire:
            wire.sendall(f"GET / HTTP/1.1\r\n{lines}Cookie: {cookie(server)}\r\nConnection: close\r\n\r\n".encode())
            said = b"".join(iter(lambda wire=wire: wire.recv(4096), b""))  # type: ignore[misc]
        assert said.split()[1] in (b"400", b"421") and SECRET.encode() not in said


@pytest.mark.parametrize(
    "origin",
    [
        None,
        "null",
        "http://evil.example",
        "http://localhost:{port}",
        "https://127.0.0.1:{port}",
        "http://127.0.0.1:1",
        "http://127.0.0.1",
        "http://127.0.0.1:{port}/",
        "",
    ],
)
def test_a_change_with_a_foreign_or_missing_origin_is_refused(server: LocalServer, origin: str | None) -> None:
    headers = {} if origin is None else {"Origin": origin.format(port=server.port)}
    for path in ("/change", "/enter"):
        answer = ask(server, "POST", path, b"x", Cookie=cookie(server), **headers)
        assert answer.status == 403
    assert taken == []


def test_a_change_from_our_own_page_is_taken(server: LocalServer) -> None:
    answer = ask(server, "POST", "/change", b"remark", Cookie=cookie(server), Origin=server.origin)
    assert (answer.status, taken) == (200, [b"remark"])
    answer = ask(server, "POST", "/change", b"remark", Cookie="companion=x", Origin=server.origin)
    assert (answer.status, taken) == (403, [b"remark"]), "no cookie"


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "MADEUP"])
def test_other_methods_change_nothing(server: LocalServer, method: str) -> None:
    assert ask(server, method, "/change", b"x", Cookie=cookie(server)).status == 403
    assert ask(server, method, "/change", b"x", Cookie=cookie(server), Origin=server.origin).status == 405
    assert taken == []


def test_a_body_too_long_or_of_no_length_is_refused(server: LocalServer) -> None:
    who = {"Cookie": cookie(server), "Origin": server.origin}
    assert ask(server, "POST", "/change", Content_Length=str(MOST_BODY + 1), **who).status == 413
    assert ask(server, "POST", "/change", Content_Length="9" * 300, **who).status in (400, 413)
    chunked = {**who, "Transfer-Encoding": "chunked", "Content-Length": ""}
    del chunked["Content-Length"]
    assert Answer(server, "POST", f"{server.door.root}/change", chunked, b"1\r\nx\r\n0\r\n\r\n").status == 411
    assert taken == []


@pytest.mark.parametrize(
    "path",
    ["/assets/../door.py", "/assets/..%2fdoor.py", "/assets/%2e%2e/door.py", "/assets/..%5cdoor.py", "/assets/",
     "/assets/base.css/", "/assets//etc/passwd", "/assets/%2fetc%2fpasswd", "/assets/base.css%00", "/../../etc/passwd",
     "/assets/....//door.py", "/assets/%252e%252e%252fdoor.py", "/assets/BASE.CSS%20"],
)  # fmt: skip
def test_no_path_leads_out_of_the_assets(server: LocalServer, path: str) -> None:
    for answer in (ask(server, "GET", path, Cookie=cookie(server)), ask(server, "GET", path)):
        assert answer.status in (400, 403, 404), answer.text
        assert "import" not in answer.text and "root:" not in answer.text


def test_what_comes_with_the_program_is_given_out(server: LocalServer) -> None:
    answer = ask(server, "GET", "/assets/door.js")
    assert (answer.status, answer.headers["content-type"]) == (200, "text/javascript; charset=utf-8")


@pytest.mark.parametrize("path", ["/", "/nowhere", "/assets/base.css", "/assets/none", "/fails", "/change"])
def test_every_answer_carries_the_headers(server: LocalServer, path: str) -> None:
    for answer in (ask(server, "GET", path, Cookie=cookie(server)), ask(server, "GET", path, Host="evil.example")):
        policy = dict(part.split(" ", 1) for part in answer.headers["content-security-policy"].split("; "))
        assert policy["default-src"] == "'none'" and policy["frame-ancestors"] == "'none'"
        assert set(policy.values()) == {"'none'", "'self'"}, "nothing inline, nothing from elsewhere"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "no-referrer"
        assert answer.headers["cache-control"] == "no-store"
        assert "server" not in answer.headers and "access-control-allow-origin" not in answer.headers


def test_a_page_that_fails_says_so_and_no_more(server: LocalServer, capfd: pytest.CaptureFixture[str]) -> None:
    answer = ask(server, "GET", "/fails", Cookie=cookie(server))
    assert answer.status == 500 and "boom" not in answer.text and "Traceback" not in answer.text
    assert capfd.readouterr() == ("", "")

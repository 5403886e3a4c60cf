"""Cookies know no ports (RFC 6265, 8.5): a browser sends them to every server on 127.0.0.1. So another server of this
machine, whoever's it is, must not be sent anything that opens the room."""

import http.client
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from companion.review.marks_file import marks_path
from tests.review.cohorts import guided
from tests.web.rooms import inside, known_home, room, within

PAGE = b"""<!DOCTYPE html><title>Another server</title><p id=done>asking</p><script type=module>
const paths = ["/", "/sessions.csv", "/class", "/enter", "/events", "/hush", "/session/x/clip/1", "/assets/base.css"];
for (const path of paths) {
  await fetch(path, {credentials: "include"});
  await fetch(path, {method: "POST", credentials: "include", body: "x"});
  await new Promise((done) => { const frame = document.createElement("iframe");
    frame.onload = done; frame.src = path + "?framed"; document.body.append(frame); });
}
document.getElementById("done").textContent = document.cookie + "asked";
</script>"""

FOR_ANYBODY = ("/enter", "/assets/base.css")
"""What says nothing of the room: where a token is posted, and a file that comes with the program."""


class Seen:
    """Another server: its port, and each request that it was sent."""

    def __init__(self) -> None:
        self.requests: list[tuple[str, dict[str, str]]] = []
        seen = self

        class Handler(BaseHTTPRequestHandler):
            def _answer(self) -> None:
                seen.requests.append((self.path, dict(self.headers.items())))
                self.rfile.read(int(self.headers.get("Content-Length", "0")))
                data = b"framed" if self.path.endswith("?framed") else PAGE
                self.send_response(200)
                self.send_header("Content-Type", "text/html")
                self.send_header("Content-Length", str(len(data)))
                self.send_header("Set-Cookie", "companion=tossed; Path=/")
                self.end_headers()
                self.wfile.write(data)

            do_GET = do_POST = _answer

            def log_message(self, *_: Any) -> None:
                """Nothing."""

        self.http = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.address = f"http://127.0.0.1:{self.http.server_address[1]}"


@contextmanager
def another_server() -> Iterator[Seen]:
    seen = Seen()
    thread = threading.Thread(target=seen.http.serve_forever)
    thread.start()
    try:
        yield seen
    finally:
        seen.http.shutdown()
        thread.join()
        seen.http.server_close()


def test_another_server_on_this_machine_is_sent_nothing_that_opens_the_room(
    tmp_path: Path, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COMPANION_HOME", str(known_home(tmp_path / "home")))
    guided(tmp_path / "records", 1)
    (record,) = (tmp_path / "records").glob("*.jsonl")
    with room(tmp_path / "records", tmp_path / "cache") as server, another_server() as seen:
        tab = inside(browser, server, f"/session/{record.name}/mark?marker=27")
        heading = tab.get_by_role("heading", level=1).inner_text()
        for begin in ("about:blank", within(server) + "/"):  # a link from elsewhere, and from the room
            other = tab.context.new_page()
            other.goto(begin)
            other.evaluate(
                """(there) => { const link = document.createElement("a"); link.href = there; link.textContent = "See";
                   document.body.prepend(link); }""",
                seen.address,
            )
            other.get_by_role("link", name="See", exact=True).click()
            expect(other.locator("#done")).to_contain_text("asked")
            other.goto(f"{seen.address}/sessions.csv")  # typed in place of the room's own
            expect(other.locator("#done")).to_contain_text("asked")
        assert len(seen.requests) > 80
        told = repr(seen.requests)
        (own,) = (each["value"] for each in tab.context.cookies(within(server) + "/") if each["value"] != "tossed")
        assert server.door.root[1:] not in told and own not in told
        changed = (f"/session/{record.name}/mark", "/hush", "/enter")
        for path, headers in seen.requests:
            for method, asked in (("GET", path), ("GET", "/sessions.csv"), *(("POST", each) for each in changed)):
                status, text = sent_on(
                    server.port, method, asked, {**headers, "Host": server.origin[7:]}, server.origin
                )
                assert status in (403, 411, 413) or asked.partition("?")[0] in FOR_ANYBODY, (method, asked, status)
                assert record.name not in text and heading not in text
        assert not marks_path(record, "27").exists()
        tab.reload()
        expect(tab.get_by_role("heading", level=1)).to_have_text(heading)  # whoever is in stays in
        tab.context.close()


def sent_on(port: int, method: str, path: str, headers: dict[str, str], origin: str) -> tuple[int, str]:
    """What the room answers to a client that sends all that the other server was sent, as if from a page of ours."""
    body = b'{"marker": "27", "seen": 0, "items": [], "rating": 3}' if method == "POST" else b""
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=20)) as wire:
        wire.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        given = {**headers, "Content-Length": str(len(body))} if method == "POST" else headers
        given = {**given, "Origin": origin} if method == "POST" else given
        for name, value in given.items():
            wire.putheader(name, value)
        wire.endheaders(body)
        found = wire.getresponse()
        return found.status, found.read().decode("utf-8", "replace")

"""A small learning record store on this machine, by the rules of xAPI 1.0.3, part three, 2.1."""

import base64
import json
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from typing import Any
from urllib.parse import parse_qs, urlsplit


class Store(ThreadingHTTPServer):
    """`conflicts`: answer 409 to anything known, as a store may. `login`: key and secret it asks for."""

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.kept: dict[str, dict[str, Any]] = {}
        self.posts = 0
        self.conflicts = True
        self.login = ""
        self.answer: tuple[int, str] | None = None
        """What to answer to everything, whatever the rules."""

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server_port}/xAPI"


class _Handler(BaseHTTPRequestHandler):
    server: Store

    def do_POST(self) -> None:
        data = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        self.server.posts += 1
        if self._turned_away():
            return
        given = data if isinstance(data, list) else [data]
        if any(self.server.kept.get(one["id"], one) != one for one in given) or (
            self.server.conflicts and any(one["id"] in self.server.kept for one in given)
        ):
            self._say(409, "conflict")
            return
        for one in given:
            self.server.kept.setdefault(one["id"], one)
        self._say(200, json.dumps([one["id"] for one in given]))

    def do_GET(self) -> None:
        if self._turned_away():
            return
        (wanted,) = parse_qs(urlsplit(self.path).query)["statementId"]
        one = self.server.kept.get(wanted)
        if one is None:
            self._say(404, "no such statement")
            return
        # A store adds fields of its own, and may write a time and leave out a definition as it likes
        stored = one | {"stored": "2030-03-04T09:00:00.000Z", "authority": {"mbox": "mailto:store@example.org"}}
        stored["timestamp"] = one["timestamp"].replace("Z", "+00:00")
        stored["object"] = {"id": one["object"]["id"]}
        self._say(200, json.dumps(stored))

    def _turned_away(self) -> bool:
        if self.server.answer is not None:
            self._say(*self.server.answer)
        elif urlsplit(self.path).path != "/xAPI/statements":
            self._say(404, "no such resource")
        elif self.headers.get("X-Experience-API-Version") != "1.0.3":
            self._say(400, "which version?")
        elif self.server.login and self.headers.get("Authorization") != (
            "Basic " + base64.b64encode(self.server.login.encode()).decode()
        ):
            self._say(401, "who are you?")
        else:
            return False
        return True

    def _say(self, status: int, text: str) -> None:
        data = text.encode()
        self.send_response(status)
        if 300 <= status < 400:
            self.send_header("Location", f"http://127.0.0.1:{self.server.server_port}/elsewhere")
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)

    def log_message(self, format: str, *args: object) -> None:
        """Silent."""


@contextmanager
def running() -> Iterator[Store]:
    """A store that serves until the block is left."""
    store = Store()
    thread = Thread(target=store.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield store
    finally:
        store.shutdown()
        thread.join()
        store.server_close()

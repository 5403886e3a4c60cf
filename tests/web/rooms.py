"""A review room for the tests: a folder, its server, and a browser that has come in."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page

from companion.clocks import RealClock
from companion.ports.voice import Sign
from companion.record.keys import SigningKey
from companion.record.reader import Record
from companion.review.cohort.base import Base
from companion.web.room.room import Room
from companion.web.room.routes import room_routes
from companion.web.room.speaker import Speaker
from companion.web.server import LocalServer
from tests.record.making import key


class SpokenAtOnce:
    """Stands for one prompt that is out already."""

    def done(self) -> bool:
        return True

    def stop(self) -> None:
        """Nothing to stop."""

    def fault(self) -> str | None:
        return None


class Listener:
    """A voice that writes down what it was given to say."""

    name = "written down"

    def __init__(self) -> None:
        self.said: list[str] = []
        self.closed = False

    def start(self, text: str) -> SpokenAtOnce:
        self.said.append(text)
        return SpokenAtOnce()

    def sign(self, sign: Sign) -> SpokenAtOnce:
        return SpokenAtOnce()

    def close(self) -> None:
        self.closed = True


def known_home(folder: Path) -> Path:
    """A user's folder in which the key that signs the tests' records is known."""
    (folder / "keys").mkdir(parents=True, exist_ok=True)
    (folder / "keys" / "tests.pub").write_text(key().public)
    return folder


@contextmanager
def room(
    folder: Path, cache: Path, voice: Listener | None = None, signer: SigningKey | None = None
) -> Iterator[LocalServer]:
    """The room over `folder`, served; marks are signed with `signer`, or with the key that every test knows."""
    speaker = None if voice is None else Speaker(lambda _: voice, RealClock())
    with Base(folder, cache) as base:
        try:
            with LocalServer(room_routes(Room(folder, base, RealClock(), signer or key(), speaker))) as server:
                yield server
        finally:
            if speaker is not None:
                speaker.close()


def within(server: LocalServer) -> str:
    """What every address of a page begins with, for a browser that has come in."""
    return server.origin + server.door.root


def demo(record: Record) -> str:
    """The page of a session."""
    return f"/session/{record.path.name}"


def inside(browser: Browser, server: LocalServer, path: str = "/", **context: Any) -> Page:
    """A page of a new context that has come in; close its context."""
    tab = browser.new_context(**context).new_page()
    tab.goto(server.address())
    tab.wait_for_url(within(server) + "/")
    tab.goto(within(server) + path)
    return tab


def mark_steps(tab: Page, marks: Sequence[tuple[str, str]]) -> None:
    """Pick a mark for each step by its title."""
    for title, mark in marks:
        tab.get_by_role("radio", name=f"{title}: {mark}", exact=True).check()

"""A browser for the tests of pages, and a review room: over the demo's own record and a simulated class, where a file
of tests has no folder of its own."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from companion.record.reader import Record, read_record
from companion.review.timeline import timeline
from companion.review.told import Timeline
from companion.web.server import LocalServer
from tests.demo_session import DemoSession
from tests.review.cohorts import guided
from tests.web.browser import chromium
from tests.web.rooms import Listener, inside, known_home, room

expect.set_options(timeout=30_000)
"""How long a page may take to show something, on a machine that does much else."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One chromium for the tests of a file; each test opens pages of its own with `browser.new_page(...)`."""
    with chromium() as found:
        yield found


@pytest.fixture(scope="module")
def made(demo_made: DemoSession, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a class and the record of `companion demo`; the key that signed that is the user's own."""
    home = demo_made.into(tmp_path_factory.mktemp("home"))
    guided(home / "records", 6)
    return known_home(home)


@pytest.fixture
def folder(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The records in a copy of it for each test."""
    monkeypatch.setenv("COMPANION_HOME", str(shutil.copytree(made, tmp_path / "home")))
    return tmp_path / "home" / "records"


@pytest.fixture
def voice() -> Listener:
    return Listener()


@pytest.fixture
def server(folder: Path, tmp_path: Path, voice: Listener) -> Iterator[LocalServer]:
    with room(folder, tmp_path / "cache", voice) as running:
        yield running


@pytest.fixture
def record(folder: Path) -> Record:
    """The demo's."""
    (path,) = folder.glob("*insulin*.jsonl")
    return read_record(path)


@pytest.fixture
def told(record: Record) -> Timeline:
    return timeline(record)


@pytest.fixture
def tab(browser: Browser, server: LocalServer) -> Iterator[Page]:
    page = inside(browser, server, locale="en-GB")
    yield page
    page.context.close()

"""Makes demo/screens: pictures of the pages, by chromium, as they look in the middle of the demo.

    python demo/make_screens.py [NAME ...]          step, identify, ..., end, rehearsed; all when none is named

Needs chromium, `pip install playwright pillow`. The session is the demo's own, through the real recogniser, on
simulated time: wherever it waits for a reply that is on the list, it stands still for the pictures.
"""

import io
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Collection, Sequence
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from companion.cli.demo import SCENARIO
from companion.clocks import SimulatedClock
from companion.conversation.beginning import started
from companion.conversation.parts import opening_of
from companion.conversation.room import Display, Room
from companion.conversation.scenario import load_scenario
from companion.conversation.stage import Stage
from companion.procedure.kinds.base import Say
from companion.procedure.loading import find, load
from companion.record.keys import own_key
from companion.record.writer import RecordWriter
from companion.rehearsal.judging import Rules
from companion.rehearsal.rehearsal import Rehearsal
from companion.voice.text_voice import TextVoice
from companion.web.bedside import Bedside, RehearsalPage

DEMO = Path(__file__).parent
SIZES = {"1366x768": (1366, 768), "1920x1080": (1920, 1080)}
COLOURS = 256
"""Those that are kept of a picture."""

MOMENTS = {
    "step": "gather",
    "identify": "identify/1",
    "wait": "stopper-dry/ask",
    "hidden": "double-check/figure",
    "differ": "recount/ask",
    "site": "site",
    "held": "held",
}
"""Name of the picture, and where in the session it is taken: a step, its phase or item, or a state."""


class Camera:
    """Takes pictures of a page in both sizes, light, and one of them dark."""

    def __init__(self, browser: Browser, folder: Path) -> None:
        self._browser = browser
        self._folder = folder

    def open(self, address: str) -> Page:
        """The page at an address that opens once."""
        tab = self._browser.new_page(color_scheme="light", reduced_motion="reduce")
        tab.goto(address)
        tab.wait_for_load_state("load")
        tab.wait_for_url(address.split("#", maxsplit=1)[0])
        return tab

    def shoot(self, tab: Page, name: str) -> None:
        """`NAME-1366x768.png`, `NAME-1920x1080.png` and `NAME-dark-1366x768.png`."""
        for label, (width, height) in SIZES.items():
            tab.set_viewport_size({"width": width, "height": height})
            self._save(tab, f"{name}-{label}")
        tab.emulate_media(color_scheme="dark")
        tab.set_viewport_size({"width": 1366, "height": 768})
        self._save(tab, f"{name}-dark-1366x768")
        tab.emulate_media(color_scheme="light")

    def _save(self, tab: Page, name: str) -> None:
        tab.wait_for_timeout(150)  # a new size is laid out anew
        path = self._folder / f"{name}.png"
        with Image.open(io.BytesIO(tab.screenshot())) as taken:
            frequent(taken.convert("RGB")).save(path, optimize=True)
        print(f"{path} {path.stat().st_size // 1000} kB")


def frequent(picture: Image.Image) -> Image.Image:
    """With its most frequent colours as they are: a flat colour is never merged with another, however small its part;
    what is merged are the shades at the edges of letters."""
    pixels = np.asarray(picture, dtype=np.int32)
    colours, place, count = np.unique(pixels.reshape(-1, 3), axis=0, return_inverse=True, return_counts=True)
    frequent = colours[np.argsort(-count)[:COLOURS]]
    nearest = ((colours[:, None, :] - frequent[None, :, :]) ** 2).sum(axis=2).argmin(axis=1)
    few = Image.fromarray(nearest[place].reshape(pixels.shape[:2]).astype(np.uint8), "P")
    few.putpalette(frequent.astype(np.uint8).tobytes())
    return few


class StandingStill:
    """A display that calls `at_turn` after another one has shown that a reply is due."""

    def __init__(self, shown: Display, at_turn: Callable[[], None]) -> None:
        self._shown = shown
        self._at_turn = at_turn
        self.says, self.heard, self.missed, self.notice = shown.says, shown.heard, shown.missed, shown.notice

    def listening(self, phrases: Sequence[str]) -> None:
        self._shown.listening(phrases)
        self._at_turn()


class Silent:
    """A terminal that shows nothing."""

    def says(self, say: Say) -> None: ...

    def heard(self, phrase: str, by: str) -> None: ...

    def missed(self, reason: str) -> None: ...

    def listening(self, phrases: Sequence[str]) -> None: ...

    def notice(self, text: str) -> None: ...


def bedside(camera: Camera, wanted: Collection[str]) -> None:
    """The page at the point of care, at the moments on the list and at the end."""
    scenario = load_scenario(DEMO / SCENARIO)
    loaded = load(find(scenario.procedure))
    stage = Stage(scenario, DEMO / "sounds", loaded, SimulatedClock(scenario.start), "pocketsphinx")
    page = Bedside(loaded.procedure, Silent(), hears=True)
    left = {name: where for name, where in MOMENTS.items() if not wanted or name in wanted}
    with tempfile.TemporaryDirectory() as home, closing(stage), page:
        tab = camera.open(page.address())
        writer = RecordWriter.create(
            Path(home) / "records", opening_of(loaded, "rehearsal"), stage.clock, own_key(Path(home) / "keys")
        )

        def at_turn() -> None:
            state = session.state
            step = session.machine.current(state)
            names: set[str] = {state.status}
            if step is not None and state.status == "running":
                names |= {step.id, f"{step.id}/{state.here.phase}", f"{step.id}/{state.here.item}"}
            for name, where in list(left.items()):
                if where in names:
                    del left[name]
                    camera.shoot(tab, f"guide-{name}")

        with closing(writer):
            session = stage.session(writer, stage.room(StandingStill(page.display, at_turn)))
            page.display.follow(session)
            session.begin(started("", stage.clock, "rehearsal"))
            session.run()
        if not wanted or "end" in wanted:
            camera.shoot(tab, "guide-end")


class Student:
    """Says a few things in the order of its own, and little of what is due."""

    ended, interrupts = False, True
    _LINES = (
        "I check the order and the patient's name and date of birth",
        "then I wash my hands, draw up the dose and inject it into the abdomen",
    )

    def __init__(self, before_next: Callable[[], None]) -> None:
        self._left = [*self._LINES, "", "that is all"]
        self._before_next = before_next

    def poll(self) -> list[str]:
        line = self._left.pop(0) if self._left else ""
        if not line:
            self._before_next()
        return [line] if line else []

    def hide(self, hidden: bool) -> None: ...


def rehearsal(camera: Camera, wanted: Collection[str]) -> None:
    """A rehearsal from memory, while it is going on and when it has been judged."""
    loaded = load(find("subcutaneous-insulin"))
    clock = SimulatedClock(datetime(2030, 3, 4, 8, tzinfo=UTC))
    page = RehearsalPage(loaded.procedure, "none", Silent(), hears=True)
    with tempfile.TemporaryDirectory() as home, page:
        tab = camera.open(page.address())
        keys = own_key(Path(home) / "keys")
        opening = opening_of(loaded, "rehearsal")
        shot: list[str] = []

        def once() -> None:
            if not shot and (not wanted or "rehearsed" in wanted):
                page.display.listening(())
                camera.shoot(tab, "rehearse-memory")
            shot.append("memory")

        with closing(RecordWriter.create(Path(home) / "records", opening, clock, keys)) as writer:
            room = Room(clock, TextVoice(clock), page.display, Student(once))
            page.display.judged(Rehearsal(loaded.procedure, Rules(help="none"), room, writer).run())
        if not wanted or "rehearsed" in wanted:
            camera.shoot(tab, "rehearse-end")


def main(wanted: Collection[str]) -> None:
    """Those named, or all."""
    folder = DEMO / "screens"
    folder.mkdir(exist_ok=True)
    chromium = shutil.which("chromium")
    if chromium is None:
        sys.exit("chromium is missing: sudo apt-get install chromium")
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=["--no-sandbox"] if root else [])
        camera = Camera(browser, folder)
        if not wanted or set(wanted) & {*MOMENTS, "end"}:
            bedside(camera, wanted)
        rehearsal(camera, wanted)
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1:])

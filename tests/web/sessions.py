"""Sessions with a page: a scene by voice through the real recogniser, or a drill typed on the page."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, expect

from companion.clocks import SimulatedClock
from companion.conversation.beginning import started
from companion.conversation.guided import Session
from companion.conversation.parts import opening_of
from companion.conversation.room import Display
from companion.conversation.scenario import load_scenario
from companion.conversation.stage import Stage
from companion.procedure.kinds.base import Say
from companion.procedure.loading import load
from companion.record.keys import own_key
from companion.record.writer import RecordWriter
from companion.web.bedside import Bedside
from companion.web.keys import PageKeys
from tests.conversation.rig import Rig, Screen
from tests.waiting import until
from tests.web.browser import LAPTOP

SCENE = Path(__file__).parent.parent / "data" / "scene"

DOING = {
    "starting": "Starting",
    "speaking": "Speaking",
    "listening": "Listening",
    "typing": "Your turn: type",
    "waiting": "Time is running",
    "held": "Held",
    "ended": "Complete",
    "abandoned": "Broken off",
    "not passed": "Not passed",
    "undecided": "Undecided",
    "not judged": "Not judged",
    "closed": "The program has stopped",
}
"""What the page calls the states of a session."""


class Watched:
    """A display that tells a test, in the session's own thread, after another one has shown something."""

    def __init__(self, shown: Display) -> None:
        self._shown = shown
        self.heard, self.missed, self.notice = shown.heard, shown.missed, shown.notice
        self.on_says: Callable[[Say], None] = lambda _: None
        self.on_turn: Callable[[], None] = lambda: None

    def says(self, say: Say) -> None:
        self._shown.says(say)
        self.on_says(say)

    def listening(self, phrases: Sequence[str]) -> None:
        self._shown.listening(phrases)
        self.on_turn()


class Played:
    """The short scene, played to a page on simulated time. `run` plays it whole."""

    def __init__(self, stage: Stage, page: Bedside, writer: RecordWriter) -> None:
        self._stage = stage
        self.page = page
        self.watched = Watched(page.display)
        self.session: Session = stage.session(writer, stage.room(self.watched))
        self.gone: list[bool] = []

    def run(self) -> None:
        self.page.display.follow(self.session)
        self.session.begin(started("", self._stage.clock, "rehearsal"))
        self.session.run()


@contextmanager
def played(folder: Path) -> Iterator[Played]:
    """Made, and let go of at the end. Nothing runs before `run`."""
    scenario = load_scenario(SCENE / "scenario.yaml")
    loaded = load(SCENE / scenario.procedure)
    gone: list[bool] = []
    stage = Stage(scenario, SCENE / "sounds", loaded, SimulatedClock(scenario.start), "pocketsphinx")
    page = Bedside(loaded.procedure, Screen(), hears=True, on_gone=lambda: gone.append(True))
    with closing(stage), page:
        opening = opening_of(loaded, "rehearsal")
        writer = RecordWriter.create(folder / "records", opening, stage.clock, own_key(folder / "keys"))
        with closing(writer):
            found = Played(stage, page, writer)
            found.gone = gone
            yield found


def opened(browser: Browser, page: Bedside, **how: object) -> Page:
    """A tab of its own browser context, as if on another machine, that came in by a fresh address."""
    tab = browser.new_context(**{"viewport": LAPTOP, "reduced_motion": "reduce", **how}).new_page()  # type: ignore[arg-type]
    tab.goto(page.address())
    # Not by `wait_for_function`, which evaluates text in the page: the policy of the pages forbids that.
    expect(tab.locator("#bar")).to_be_attached()
    return tab


class Typed:
    """The drill with every kind of step, typed on the page and nowhere else."""

    def __init__(self, folder: Path, browser: Browser) -> None:
        self.rig = Rig(folder, [])
        self.keys = PageKeys(self.rig.typist)
        self.page = Bedside(self.rig.loaded.procedure, self.rig.screen, hears=False, type_line=self.keys.put)
        self.watched = Watched(self.page.display)
        self.rig.session.room = replace(self.rig.session.room, display=self.watched, keys=self.keys)
        self.published: list[str] = []
        publish = self.page.board.publish

        def kept(body: Mapping[str, Any]) -> None:
            self.published.append(str(body))
            publish(body)

        self.page.board.publish = kept  # type: ignore[method-assign]
        self.page.__enter__()
        self.tab = opened(browser, self.page)
        expect(self.tab.locator("#line")).to_be_focused()  # from here on no key may be lost
        self.page.display.follow(self.rig.session)

    def type(self, line: str) -> None:
        """Keys alone, wherever the focus is; returns when the line has arrived."""
        arrived = self.keys._lines.qsize() + 1
        if line:
            self.tab.keyboard.type(line)
            assert self.tab.evaluate("document.activeElement.id") == "line"
        self.tab.keyboard.press("Enter")
        until(lambda: self.keys._lines.qsize() >= arrived, 10)

    def close(self) -> None:
        self.page.__exit__(None, None, None)
        self.tab.context.close()
        self.rig.writer.close()

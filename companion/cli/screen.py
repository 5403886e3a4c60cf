"""`--screen`: the page at the point of care beside a session. Nothing of it is loaded without that option."""

import os
import sys
import threading
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import typer

from companion.cli.terminal import tell
from companion.conversation.display import Display, Keys
from companion.conversation.loop import Session
from companion.procedure.loading.loader import Loaded
from companion.rehearsal.loop import Keys as RehearsalKeys
from companion.rehearsal.loop import Screen
from companion.session.findings import Judgement
from companion.session.state import State

SCREEN = typer.Option("--screen", help="Show the session on a page of this machine, to be read from two metres.")
BROWSER = typer.Option("--browser/--no-browser", help="With --screen: open the page in the browser.")

Follow = Callable[[Session], None]


@contextmanager
def on_screen(
    wanted: bool,
    loaded: Loaded,
    display: Display,
    keys: Keys,
    *,
    hears: bool,
    opens: bool,
    types: bool = True,
    site_map: Callable[[State], str] | None = None,
) -> Iterator[tuple[Display, Keys, Follow]]:
    """The display and keys for a session, and what to call with it before it begins. Where no page is `wanted` they
    are the ones given. `opens`: show the page in the browser; `types`: the page takes typed replies."""
    if not wanted:
        yield display, keys, _nothing
        return
    from companion.web.bedside import Bedside
    from companion.web.keys import PageKeys

    page_keys = PageKeys(keys)
    with Bedside(
        loaded.procedure,
        display,
        hears=hears,
        type_line=page_keys.put if types else None,
        site_map=site_map,
        on_gone=lambda: _tell(f"The page was closed; it opens again at {page.address()}"),
    ) as page:
        _tell(f"The page: {page.address()}")
        if opens:
            open_in_browser(page.address())
        yield page.display, page_keys, page.display.follow


@contextmanager
def rehearsed_on_screen(
    wanted: bool, loaded: Loaded, level: str, terminal: Screen, keys: Keys, *, hears: bool, opens: bool
) -> Iterator[tuple[Screen, RehearsalKeys, Callable[[], None], Callable[[Judgement], None]]]:
    """The same for a rehearsal: its screen and keys, what to call at each turn of the student, and with the end."""
    if not wanted:
        yield terminal, keys, _nothing, _nothing
        return
    from companion.web.bedside import RehearsalPage
    from companion.web.keys import PageKeys

    page_keys = PageKeys(keys)
    with RehearsalPage(
        loaded.procedure,
        level,
        terminal,
        hears=hears,
        type_line=page_keys.put,
        on_gone=lambda: _tell(f"The page was closed; it opens again at {page.address()}"),
    ) as page:
        _tell(f"The page: {page.address()}")
        if opens:
            open_in_browser(page.address())
        yield page.screen, page_keys, page.screen.your_turn, page.screen.judged


def open_in_browser(address: str) -> None:
    """In the user's browser, where there is a desktop for it: one that runs in the terminal would take it over."""
    if sys.platform == "linux" and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        _tell("There is no desktop here to open it on; open the address in a browser on this machine")
        return
    threading.Thread(target=webbrowser.open, args=(address,), name="browser", daemon=True).start()


def _tell(text: str) -> None:
    tell(f"* {text}")


def _nothing(*_: object) -> None:
    """No page follows."""

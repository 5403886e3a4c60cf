"""`--screen`: the page at the point of care beside a session. Nothing of it is loaded without that option."""

import os
import sys
import threading
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, TypeVar

import typer

from companion.cli.terminal import tell
from companion.conversation.room import Room
from companion.procedure.model import Procedure
from companion.session.state import State

if TYPE_CHECKING:
    from companion.web.bedside import Bedside, LivePage, RehearsalPage

SCREEN = typer.Option("--screen", help="Show the session on a page of this machine, to be read from two metres.")
BROWSER = typer.Option("--browser/--no-browser", help="With --screen: open the page in the browser.")

P = TypeVar("P", bound="LivePage")


def bedside(
    wanted: bool, procedure: Procedure, site_map: Callable[[State], str] | None = None
) -> "Callable[..., Bedside] | None":
    """What makes the page of a guided session; `site_map` draws the body."""
    if not wanted:
        return None
    from companion.web.bedside import Bedside

    return partial(Bedside, procedure, site_map=site_map)


def rehearsed(wanted: bool, procedure: Procedure, level: str) -> "Callable[..., RehearsalPage] | None":
    """What makes the page of a rehearsal at a level of help."""
    if not wanted:
        return None
    from companion.web.bedside import RehearsalPage

    return partial(RehearsalPage, procedure, level)


@contextmanager
def on_screen(
    make: Callable[..., P] | None, room: Room, opens: bool, types: bool = True
) -> Iterator[tuple[Room, P | None]]:
    """The room with a page beside its display and its keys, and the page; without `make` there is none.

    `opens`: show the page in the browser; `types`: the page takes typed replies."""
    if make is None:
        yield room, None
        return
    from companion.web.keys import PageKeys

    keys = PageKeys(room.keys)
    page: P = make(
        room.display,
        hears=room.microphone is not None,
        type_line=keys.put if types else None,
        on_gone=lambda: _tell(f"The page was closed; it opens again at {page.address()}"),
    )
    with page:
        _tell(f"The page: {page.address()}")
        if opens:
            open_in_browser(page.address())
        yield replace(room, display=page.display, keys=keys), page


def open_in_browser(address: str) -> None:
    """In the user's browser, where there is a desktop for it: one that runs in the terminal would take it over."""
    if sys.platform == "linux" and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        _tell("There is no desktop here to open it on; open the address in a browser on this machine")
        return
    threading.Thread(target=webbrowser.open, args=(address,), name="browser", daemon=True).start()


def _tell(text: str) -> None:
    tell(f"* {text}")

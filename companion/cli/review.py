"""`companion review`: the educator's room over a folder of records."""

import sys
import threading
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

from companion import places
from companion.cli.passphrase import signing_key
from companion.cli.screen import open_in_browser
from companion.cli.terminal import tell
from companion.clocks import RealClock
from companion.errors import UsageError
from companion.ports.voice import Voice
from companion.review.cohort.base import Base, cache_folder
from companion.review.cohort.intake import Taken, take_in


def review(
    folder: Annotated[Path | None, typer.Argument(help="A folder of session records; else the program's own.")] = None,
    silent: Annotated[bool, typer.Option("--silent", help="No voice when a session is played.")] = False,
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Open the page in the browser.")] = True,
) -> None:
    """Look at sessions, mark them, and see how a class does: pages on this machine alone, until Ctrl-C."""
    try:
        _review(places.records() if folder is None else folder, silent, browser)
    except KeyboardInterrupt:  # at any moment: also while records are read, or before the page is open
        tell("The review is over.")


def _review(where: Path, silent: bool, browser: bool) -> None:
    from companion.web.room.room import Room
    from companion.web.room.routes import room_routes
    from companion.web.room.speaker import Speaker
    from companion.web.server import LocalServer

    if not where.is_dir():
        raise UsageError(f"{where}: no such folder; a folder of session records (.jsonl) is accepted")
    key = signing_key()  # its passphrase, where it has one, is asked for now and not when marks are to be saved
    clock = RealClock()
    speaker = None if silent else Speaker(lambda language: _voice(language, clock), clock)
    with Base(where, cache_folder()) as base:
        _tell(where, _first_intake(base))
        room = Room(where, base, clock, key, speaker)
        try:
            with LocalServer(room_routes(room)) as server:
                address = server.address()
                tell(f"Review of {where}, on this machine alone: {address}")
                tell("The address opens once. Ctrl-C ends the review.")
                if browser:
                    open_in_browser(address)
                threading.Event().wait()
        finally:
            if speaker is not None:
                speaker.close()


def _first_intake(base: Base) -> Taken:
    bar = Progress(
        *(TextColumn("Reading records"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn()),
        console=Console(stderr=True),
        transient=True,
        disable=not sys.stderr.isatty(),
    )
    with bar:
        task = bar.add_task("", total=None)
        return take_in(base, lambda done, total: bar.update(task, completed=done, total=total))


def _tell(where: Path, taken: Taken) -> None:
    tell(f"{where}: {taken.read} new or changed record{'' if taken.read == 1 else 's'} read")
    for fault in taken.faults[:5]:
        tell(f"* Not counted: {fault}")
    if len(taken.faults) > 5:
        tell(f"* and {len(taken.faults) - 5} more; the page lists them")


def _voice(language: str, clock: RealClock) -> Voice:
    from companion.voice.best import open_voice

    voice, missing = open_voice(language, clock)
    for line in missing:
        tell(f"* {line}")
    return voice

"""`companion demo`: the main job by voice, with nobody in the room but sound files."""

from collections.abc import Callable
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from companion import places
from companion.cli.console import ConsoleDisplay
from companion.cli.ending import show_record, tell_end
from companion.cli.guide import CAUTION
from companion.cli.passphrase import signing_key
from companion.cli.screen import BROWSER, SCREEN, bedside, on_screen
from companion.cli.terminal import tell
from companion.clocks import PacedClock, SimulatedClock
from companion.conversation.beginning import started
from companion.conversation.guided import Session
from companion.conversation.parts import opening_of
from companion.conversation.scenario import load_scenario
from companion.conversation.stage import Stage
from companion.datafiles import packaged
from companion.plainfiles import is_plain
from companion.procedure.loading import find, load
from companion.record.privacy import path_for_record
from companion.record.writer import RecordWriter

SCENARIO = "scenario.yaml"
OURS = "demo"
"""How a record names the scenario that comes with the program; another one is named by its folder."""


def demo(
    aloud: Annotated[bool, typer.Option("--aloud", help="In real time, through the loudspeaker.")] = False,
    engine: Annotated[str | None, typer.Option(help="Recogniser: pocketsphinx, vosk or scorer.")] = "pocketsphinx",
    records: Annotated[Path | None, typer.Option(help="Folder for the record.")] = None,
    scenario_folder: Annotated[
        Path | None, typer.Option("--scenario", help="Folder with a scenario.yaml and its sounds, in place of ours.")
    ] = None,
    screen: Annotated[bool, SCREEN] = False,
    browser: Annotated[bool, BROWSER] = True,
) -> None:
    """Play an invented session into the real recogniser, and leave its record."""
    folder = packaged("demo") if scenario_folder is None else scenario_folder.absolute()
    told = path_for_record("--scenario", folder, date.today())  # to be resumed by
    scenario = load_scenario(folder / SCENARIO)
    beside = folder / scenario.procedure
    loaded = load(beside if is_plain(beside, links=True) else find(scenario.procedure))
    tell(f"{scenario.scenario}\n{scenario.about}\n{CAUTION}\n")
    key = signing_key()
    opening = opening_of(loaded, "rehearsal", OURS if scenario_folder is None else told)
    clock = PacedClock(scenario.start) if aloud or screen else SimulatedClock(scenario.start)
    with closing(Stage(scenario, folder / "sounds", loaded, clock, engine, aloud)) as stage:
        room = stage.room(ConsoleDisplay())
        with (
            on_screen(bedside(screen, loaded.procedure), room, browser, types=False) as (shown, page),
            closing(RecordWriter.create(records or places.records(), opening, clock, key)) as writer,
        ):
            session = stage.session(writer, shown)
            if page is not None:
                page.display.follow(session)
            perform(session, writer, lambda session: session.begin(started("", clock, "rehearsal")))


def perform(session: Session, writer: RecordWriter, begin: Callable[[Session], None]) -> None:
    """A scenario's session, to its receipt."""
    show_record(writer)
    begin(session)
    session.run()
    print()
    tell_end(session, writer)

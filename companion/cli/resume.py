"""`companion resume`: go on after the program, or the machine, stopped in the middle."""

from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Annotated

import typer

from companion import places
from companion.cli.console import ConsoleDisplay
from companion.cli.demo import OURS, SCENARIO, perform
from companion.cli.ending import run, tell_end
from companion.cli.guide import CAUTION, at_this_machine
from companion.cli.passphrase import signing_key
from companion.cli.screen import BROWSER, SCREEN, bedside
from companion.cli.terminal import tell
from companion.clocks import SimulatedClock
from companion.conversation.beginning import started
from companion.conversation.guided import Session
from companion.conversation.keeping import go_on_keeping
from companion.conversation.parts import Wanted
from companion.conversation.scenario import load_scenario
from companion.conversation.stage import Stage
from companion.datafiles import packaged
from companion.errors import RecordError, UsageError
from companion.machine.machine import Machine
from companion.procedure.loading.loader import Loaded
from companion.record.keys import SigningKey
from companion.record.reader import Record, read_record
from companion.record.verify import records_in
from companion.record.writer import RecordWriter, check_ours
from companion.review.timeline import loaded_of, timeline
from companion.session.events import Resumed
from companion.session.state import State
from companion.sites.kept.turn_of_site import TurnOfSite, has_turn


def resume(
    record: Annotated[
        Path | None,
        typer.Argument(help="A record that was not ended, or a folder: its newest. Left out: this machine's newest."),
    ] = None,
    engine: Annotated[str | None, typer.Option(help="Recogniser: pocketsphinx, vosk or scorer.")] = None,
    model: Annotated[Path | None, typer.Option(help="Folder of the recogniser's model.")] = None,
    microphone: Annotated[str | None, typer.Option(help="Name or number of the sound input.")] = None,
    keyboard: Annotated[bool, typer.Option("--keyboard", help="No microphone: type the replies.")] = False,
    silent: Annotated[bool, typer.Option("--silent", help="No voice: read the prompts.")] = False,
    sites: Annotated[str, typer.Option(help="Tag of the site history it was begun with; no record holds it.")] = "",
    screen: Annotated[bool, SCREEN] = False,
    browser: Annotated[bool, BROWSER] = True,
) -> None:
    """Go on with a session at its last confirmed step, which is restated first."""
    found = newest_open(record or places.records()) if record is None or record.is_dir() else read_record(record)
    if "rehearsal" in found.opening:
        again = f"begin a new one: companion rehearse {found.opening['procedure_id']}"
        raise UsageError(f"{found.path}: a rehearsal is not gone on with; {again}")
    key = signing_key()
    check_ours(found.path, found.opening, key)  # before anything that a stranger's record names is opened
    loaded = loaded_of(found)
    tell(f"{loaded.procedure.title}\n{CAUTION}\n")
    state = timeline(found).state
    if "scenario" in found.opening:
        _resume_scenario(found, loaded, state, engine or "pocketsphinx", key)
        return
    turn = TurnOfSite(loaded.procedure, sites) if sites else None
    for line in _about_sites(turn, state, loaded):
        tell(f"* {line}")
    page = bedside(screen, loaded.procedure, None if turn is None else turn.drawing)
    wanted = Wanted(keyboard, silent, microphone, engine, model)
    with (
        at_this_machine(loaded, wanted, page, browser) as (room, ear, follow),
        closing(RecordWriter.reopen(found.path, room.clock, key)) as writer,
    ):
        keeper = go_on_keeping(found, writer, room.display.notice)
        session = Session(Machine(loaded.procedure), room, writer, ear, state, keeper)
        follow(session)
        more = f" --sites {sites}" if sites else ""
        run(session, writer, lambda session: _go_on(session, found, turn), more)
        for line in turn.settle(session.state) if turn is not None and not state.ended else ():
            tell(line)
        tell_end(session, writer)


def newest_open(folder: Path) -> Record:
    """The session in `folder` that was begun last and not ended. Raises UsageError where there is none."""
    for path in reversed(records_in(folder) if folder.is_dir() else []):  # a record's name begins with its time
        with suppress(RecordError):  # one that cannot be believed is `record verify`'s matter
            found = read_record(path)
            if not found.closed and "rehearsal" not in found.opening:
                tell(f"* Going on with {path}")
                return found
    raise UsageError(f"{folder}: no session was left open here; begin one: companion guide PROCEDURE")


def _resume_scenario(found: Record, loaded: Loaded, state: State, engine: str, key: SigningKey) -> None:
    name = found.opening["scenario"]
    folder = packaged("demo") if name == OURS else Path(name).expanduser()
    scenario, clock = load_scenario(folder / SCENARIO), SimulatedClock(found.entries[-1].when())
    with (
        closing(Stage(scenario, folder / "sounds", loaded, clock, engine)) as stage,
        closing(RecordWriter.reopen(found.path, clock, key)) as writer,
    ):
        session = stage.session(writer, stage.room(ConsoleDisplay()), state)
        perform(session, writer, lambda session: _go_on(session, found))


def _about_sites(turn: TurnOfSite | None, state: State, loaded: Loaded) -> Iterator[str]:
    """What has to be known about the site history before going on."""
    for line in turn.damage if turn is not None else ():
        yield f"Site history: {line}"
    if turn is None and has_turn(state, loaded.procedure):
        yield "It was begun with a site history. To have the spot noted, go on with: --sites TAG"
    if turn is not None and state.ended:
        yield "It had ended before. Whether its spot was noted, see: companion site show"


def _go_on(session: Session, found: Record, turn: TurnOfSite | None = None) -> None:
    """What begins this run: nothing where the session had ended and only its closing was lost."""
    if session.state.status == "new":
        notes = turn.notes() if turn is not None else ()
        session.begin(started("", session.room.clock, found.opening.get("mode", "rehearsal"), notes))
    elif not session.state.ended:
        session.begin(Resumed(at_ms=session.now_ms()))

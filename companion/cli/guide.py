"""`companion guide`: a procedure, hands free."""

from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from companion import places
from companion.cli.console import terminal_room
from companion.cli.ending import run, tell_end
from companion.cli.options import parse_settings
from companion.cli.passphrase import signing_key
from companion.cli.screen import BROWSER, SCREEN, on_screen
from companion.cli.screen import bedside as screen_of
from companion.cli.terminal import tell
from companion.clocks import RealClock
from companion.conversation.beginning import started
from companion.conversation.consent import Given
from companion.conversation.ear import Ear
from companion.conversation.guided import Session
from companion.conversation.keeping import agreement, begin_keeping
from companion.conversation.parts import Wanted, open_guided, opening_of, performer_tag
from companion.conversation.room import Room
from companion.errors import UsageError
from companion.machine.machine import Machine
from companion.procedure.loading import Loaded, find, load
from companion.record.writer import RecordWriter
from companion.sites.kept.turn_of_site import TurnOfSite

if TYPE_CHECKING:
    from companion.web.bedside import Bedside

CAUTION = (
    "A training aid, not a medical device: local policy and licensed judgement come first. "
    "Enter silences it at any time; typed words count like spoken ones."
)


def guide(
    procedure: Annotated[str, typer.Argument(help="Name of a procedure, or the path of its file.")],
    performer: Annotated[str, typer.Option(help="Your staff tag; asked aloud when left out.")] = "",
    engine: Annotated[str | None, typer.Option(help="Recogniser: pocketsphinx, vosk or scorer.")] = None,
    model: Annotated[Path | None, typer.Option(help="Folder of the recogniser's model.")] = None,
    microphone: Annotated[str | None, typer.Option(help="Name or number of the sound input.")] = None,
    keyboard: Annotated[bool, typer.Option("--keyboard", help="No microphone: type the replies.")] = False,
    silent: Annotated[bool, typer.Option("--silent", help="No voice: read the prompts.")] = False,
    bedside: Annotated[
        bool, typer.Option("--bedside", help="For real, where the employer's policy allows it.")
    ] = False,
    set_: Annotated[list[str] | None, typer.Option("--set", help="A setting of local policy, NAME=VALUE.")] = None,
    sites: Annotated[str, typer.Option(help="Tag of a site history (`companion site new`): whose turn is it?")] = "",
    keep_sound: Annotated[
        bool, typer.Option("--keep-sound", help="Keep the replies as sound, if everybody in the room agrees.")
    ] = False,
    records: Annotated[Path | None, typer.Option(help="Folder for the record.")] = None,
    screen: Annotated[bool, SCREEN] = False,
    browser: Annotated[bool, BROWSER] = True,
) -> None:
    """Walk through a procedure by voice, with a timestamped record."""
    if keep_sound and keyboard:
        raise UsageError("--keep-sound goes with a microphone; with --keyboard nothing is heard that could be kept")
    loaded = load(find(procedure), parse_settings(set_ or []))
    performer = performer_tag(loaded.procedure, performer, "--performer")
    key = signing_key()  # its passphrase, where it has one, is asked for now and not when the session is over
    turn = TurnOfSite(loaded.procedure, sites) if sites else None
    for line in turn.damage if turn is not None else ():
        tell(f"* Site history: {line}")
    notes = turn.notes() if turn is not None else ()
    mode = "bedside" if bedside else "rehearsal"
    tell(f"{loaded.procedure.title}\n{CAUTION}")
    page = screen_of(screen, loaded.procedure, None if turn is None else turn.drawing)
    wanted = Wanted(keyboard, silent, microphone, engine, model)
    with at_this_machine(loaded, wanted, page, browser) as (room, ear, follow):
        reached = agreement(loaded.procedure, room, ear, performer) if keep_sound else None
        if isinstance(reached, Given):
            performer = reached.tags[0]
        opening = opening_of(loaded, mode)
        with closing(RecordWriter.create(records or places.records(), opening, room.clock, key)) as writer:
            keeper = None if reached is None else begin_keeping(reached, writer, room, loaded.procedure.language)
            session = Session(Machine(loaded.procedure), room, writer, ear, keeper=keeper)
            follow(session)
            first = started(performer, room.clock, mode, notes)
            run(session, writer, lambda session: session.begin(first), f" --sites {sites}" if sites else "")
            for line in turn.settle(session.state) if turn is not None else ():
                tell(line)
            tell_end(session, writer)


@contextmanager
def at_this_machine(
    loaded: Loaded, wanted: Wanted, page: "Callable[..., Bedside] | None", browser: bool
) -> Iterator[tuple[Room, Ear | None, Callable[[Session], None]]]:
    """The room of this terminal, with its page where there is one, the ear, and what is to be called with the session
    before it begins."""
    clock = RealClock()
    with (
        open_guided(loaded, clock, wanted) as parts,
        terminal_room(parts, clock) as terminal,
        on_screen(page, terminal, browser) as (room, shown),
    ):
        yield room, parts.ear, (lambda _: None) if shown is None else shown.display.follow

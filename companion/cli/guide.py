"""`companion guide`: a procedure, hands free."""

from contextlib import ExitStack
from pathlib import Path
from typing import Annotated

import typer

from companion import places
from companion.cli import live, sound
from companion.cli.parts import build, finish, opening_of, parse_settings, performer_tag, talk_of
from companion.cli.passphrase import signing_key
from companion.cli.screen import BROWSER, SCREEN, on_screen
from companion.cli.terminal import tell
from companion.cli.turn_of_site import TurnOfSite
from companion.clocks import RealClock
from companion.conversation.consent import Given
from companion.conversation.loop import started
from companion.procedure.loading import find, load
from companion.record.writer import RecordWriter

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
    sound.must_hear(keep_sound, keyboard)
    overrides = parse_settings(set_ or [])
    loaded = load(find(procedure), overrides)
    performer = performer_tag(loaded.procedure, performer)
    key = signing_key()  # its passphrase, where it has one, is asked for now and not when the session is over
    turn = TurnOfSite(loaded.procedure, sites) if sites else None
    for line in turn.damage if turn is not None else ():
        tell(f"* Site history: {line}")
    clock = RealClock()
    notes = turn.notes() if turn is not None else ()
    mode = "bedside" if bedside else "rehearsal"
    tell(f"{loaded.procedure.title}\n{CAUTION}")
    with ExitStack() as open_parts:
        parts = live.parts(loaded, clock, engine, model, microphone, keyboard, silent)
        hearing, voice, terminal, typed = open_parts.enter_context(parts)
        display, keys, follow = open_parts.enter_context(
            on_screen(
                screen,
                loaded,
                terminal,
                typed,
                hears=hearing.microphone is not None,
                opens=browser,
                site_map=turn.drawing if turn is not None else None,
            )
        )
        talk = talk_of(voice, clock, keys)
        reached = sound.agreement(loaded, hearing, voice, display, keys, clock, performer) if keep_sound else None
        if isinstance(reached, Given):
            performer = reached.tags[0]
        writer = RecordWriter.create(records or places.records(), opening_of(loaded, overrides, mode, None), clock, key)
        try:
            keeper = None if reached is None else sound.begin_keeping(reached, writer, display, talk)
            spotter = live.spotter_of(hearing, voice)
            session = build(loaded, writer, clock, voice, display, keys, hearing, spotter=spotter, keeper=keeper)
            follow(session)
            more = f" --sites {sites}" if sites else ""
            live.run(session, writer, lambda: session.begin(started(performer, clock, mode, notes)), more)
            for line in turn.settle(session.state) if turn is not None else ():
                tell(line)
            finish(session, writer, print, talk)
        finally:
            writer.close()

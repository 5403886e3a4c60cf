"""`companion rehearse`: talk a procedure through, with cues or from memory."""

from collections.abc import Sequence
from contextlib import ExitStack, closing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated

import typer

from companion import places
from companion.cli.console import ConsoleDisplay, terminal_room
from companion.cli.options import parse_settings
from companion.cli.outcome import finish
from companion.cli.passphrase import signing_key
from companion.cli.progress import sittings
from companion.cli.screen import BROWSER, SCREEN, on_screen, rehearsed
from companion.cli.talk import judge_talk, read_talk
from companion.cli.terminal import tell
from companion.cli.wrapped import line
from companion.clocks import RealClock
from companion.conversation.parts import Wanted, opening_of
from companion.errors import UsageError
from companion.meaning.ideas import ideas_of
from companion.meaning.reader.fetched import open_reader
from companion.procedure.loading import find, load_rehearsed
from companion.procedure.model import Procedure
from companion.record.privacy import path_for_record
from companion.record.writer import RecordWriter
from companion.rehearsal.cues import LEVELS
from companion.rehearsal.ear import TalkEar, open_ear, open_rehearsed
from companion.rehearsal.judging import Rules
from companion.rehearsal.judging.judgeable import unrecognisable
from companion.rehearsal.progress import progress, weak_stretch
from companion.rehearsal.rehearsal import Rehearsal, student_tag
from companion.rehearsal.script import room_of_script

SETTINGS = {"help_option_names": ["-h"]}
"""`--help` takes the level of help here; alone, and as `-h`, it explains the command (`cli.main`)."""

CAUTION = "A training aid: local policy and your educator decide. Do not say anybody's name or number."


def rehearse(
    procedure: Annotated[str, typer.Argument(help="Name of a procedure, or the path of its file.")],
    level: Annotated[str, typer.Option("--help", help="full (every step prompted), headings, or none.")] = "none",
    only: Annotated[
        str, typer.Option(help="Steps to rehearse, joined by commas; FIRST..LAST for a stretch; `weak` for yours.")
    ] = "",
    student: Annotated[str, typer.Option(help="Your tag, two or three digits.")] = "",
    lenient: Annotated[bool, typer.Option("--lenient", help="A critical finding does not fail it.")] = False,
    right: Annotated[
        list[str] | None, typer.Option("--right", help="A value of this case, STEP=VALUE, such as ordered-dose=18.")
    ] = None,
    keyboard: Annotated[bool, typer.Option("--keyboard", help="No microphone: type what you would say.")] = False,
    silent: Annotated[bool, typer.Option("--silent", help="No voice: read it.")] = False,
    microphone: Annotated[str | None, typer.Option(help="Name or number of the sound input.")] = None,
    script: Annotated[
        Path | None, typer.Option(help="A file of lines with sounds beside it, in place of a student.")
    ] = None,
    set_: Annotated[list[str] | None, typer.Option("--set", help="A setting of local policy, NAME=VALUE.")] = None,
    records: Annotated[Path | None, typer.Option(help="Folder for the record.")] = None,
    talk: Annotated[
        Path | None, typer.Option(help="Judge a talk written down, one utterance a line; nothing is recorded.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="With --talk: the steps said, in doubt and missed.")] = False,
    screen: Annotated[bool, SCREEN] = False,
    browser: Annotated[bool, BROWSER] = True,
) -> None:
    """Talk a procedure through in your own words; hear what to practise, and get a report."""
    if level not in LEVELS:
        raise UsageError(f"`--help {level}`: accepted: {', '.join(LEVELS)}; the command itself: companion rehearse -h")
    if as_json and talk is None:
        raise UsageError("`--json` tells what a written talk says; accepted: together with `--talk FILE`")
    weak = only.strip() == "weak"
    live = {
        "--help": level != "none",
        "--student": bool(student) and not weak,
        "--microphone": microphone is not None,
        "--script": script is not None,
        "--records": records is not None and not weak,
        "--screen": screen,
    }
    if talk is not None and any(live.values()):
        given = ", ".join(f"`{name}`" for name, used in live.items() if used)
        raise UsageError(
            f"{given}: for a rehearsal that is held; accepted with `--talk`: `--only`, `--set`, `--right`, "
            "`--lenient`, `--json`, and for `--only weak` also `--student`, `--records`"
        )
    written = None if talk is None else read_talk(talk)
    student = student_tag(student, "--student ")
    told = path_for_record("--script", script, date.today()) if script else None
    loaded = load_rehearsed(find(procedure), parse_settings(set_ or []))
    folder = records or places.records()
    steps = chosen(loaded.procedure, only, folder, student)
    rules = Rules(
        help=level,
        only=steps,
        must_pass=not lenient,
        values=_case(loaded.procedure, right or []),
    )
    due = steps or [step.id for step in loaded.procedure.steps]
    missing = unrecognisable(due, ideas_of(loaded.procedure).ways)
    if missing:
        names = ", ".join(missing)
        unknown = f"{loaded.path}: without `ideas` nobody can tell when these steps are said: {names}"
        tell(line(unknown, "* "), err=as_json)
    if written is not None:
        judge_talk(loaded.procedure, rules, written, as_json)
        return
    tell(f"{line(loaded.procedure.title)}\n{line(CAUTION)}")
    opening = opening_of(loaded, "rehearsal", told) | {"rehearsal": level}
    if script is not None and screen:
        raise UsageError("`--screen` shows what is said now; accepted with it: a rehearsal without `--script`")
    reader, missing_reader = open_reader(loaded.procedure)
    if missing_reader and level == "none":
        tell(line(missing_reader, "* "))
    with ExitStack() as held:
        if script is not None:
            ear: TalkEar | None = held.enter_context(closing(open_ear(loaded.procedure.language)))
            room, page = room_of_script(script, ConsoleDisplay()), None
        else:
            clock = RealClock()
            parts = held.enter_context(open_rehearsed(loaded, clock, Wanted(keyboard, silent, microphone)))
            terminal, ear = held.enter_context(terminal_room(parts, clock)), parts.ear
            room, page = held.enter_context(on_screen(rehearsed(screen, loaded.procedure, level), terminal, browser))
        writer = held.enter_context(closing(RecordWriter.create(folder, opening, room.clock, signing_key())))
        rehearsal = Rehearsal(loaded.procedure, rules, room, writer, ear, reader)
        finish(rehearsal, loaded.procedure, writer, student, page.display.judged if page else lambda _: None)


def chosen(procedure: Procedure, only: str, folder: Path, student: str) -> tuple[str, ...]:
    """The steps `--only` names, in the order of the file; none for all of them. Raises UsageError."""
    order = [step.id for step in procedure.steps]
    if not only.strip():
        return ()
    if only.strip() == "weak":
        done = [sitting for sitting in sittings(folder, student) if sitting.procedure == procedure.id]
        found = weak_stretch(procedure, progress(procedure, done), datetime.now(UTC))
        if not found:
            raise UsageError("`--only weak`: nothing of this procedure went wrong or is due again in your records here")
        return found
    wanted: set[str] = set()
    for name in (part.strip() for part in only.split(",")):
        first, dots, last = name.partition("..")
        for each in (first, last) if dots else (first,):
            if each not in order:
                raise UsageError(f"`--only`: `{each}` is no main step of {procedure.id}; accepted: {', '.join(order)}")
        wanted |= set(order[order.index(first) : order.index(last) + 1]) if dots else {first}
    return tuple(step for step in order if step in wanted)


def _case(procedure: Procedure, pairs: Sequence[str]) -> dict[str, str]:
    found = parse_settings(list(pairs))
    readings = [step.id for step in procedure.steps if step.stated is not None and not step.worked_out]
    for name in found:
        if name not in readings:
            raise UsageError(f"`--right {name}`: no reading of {procedure.id}; accepted: {', '.join(readings)}")
    return found

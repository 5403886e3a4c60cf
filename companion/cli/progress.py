"""`companion progress`: how each step has gone, and what is due again."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from companion import places
from companion.cli.terminal import cell, tell
from companion.cli.wrapped import line
from companion.errors import CompanionError, RecordError, UsageError
from companion.procedure.loading import find, load, load_rehearsed
from companion.record.reader import read_record
from companion.record.trusted import known_keys
from companion.record.verify import mentions, records_in
from companion.rehearsal.progress import Sitting, StepProgress, due, weak_stretch, weakest_first
from companion.rehearsal.progress import progress as folded
from companion.review.talked import judgement_of
from companion.session.findings import JUDGED

_TIMES = 3
_ROWS = 12
"""Steps shown unless all are asked for: with what stands above them they fit a screen of 24 lines."""
_NAMED = 3


def sittings(folder: Path, student: str) -> Iterator[Sitting]:
    """The judged rehearsals in the records of a folder: those of `student` (a tag), or those without a tag.

    Records that cannot be read or believed, or were made with a key unknown here, are named on standard error; those
    that hold no judgement are passed over.
    """
    keys = known_keys(places.keys())
    for path in records_in(folder) if folder.is_dir() else ():
        try:
            if not mentions(path, JUDGED):
                continue
            record = read_record(path)
            judgement, _ = judgement_of(record)
        except RecordError as fault:
            tell(f"* Not counted: {fault}", err=True)
            continue
        if judgement is None or judgement.performer != student:
            continue
        if record.opening["public_key"] not in keys:
            tell(f"* Not counted: {path}: made with an unknown key; see: companion record trust", err=True)
        else:
            yield Sitting(record.opening["procedure_id"], record.entries[0].when(), judgement)


def progress(
    procedure: Annotated[str, typer.Argument(help="Name of a procedure; all that were rehearsed when left out.")] = "",
    student: Annotated[str, typer.Option(help="Your tag.")] = "",
    records: Annotated[Path | None, typer.Option(help="Folder of the records.")] = None,
    whole: Annotated[bool, typer.Option("--all", help="Every step, not the weakest only.")] = False,
) -> None:
    """What is due, the drill for the weak stretch, and your steps over your rehearsals, the weakest first."""
    found = list(sittings(records or places.records(), student))
    whose = f"student {student}" if student else "a student without a tag (name yours with --student)"
    if not found:
        where = records or places.records()
        raise UsageError(f"no judged rehearsal of {whose} is in {where}; begin with: companion rehearse PROCEDURE")
    names = [load(find(procedure)).procedure.id] if procedure else sorted({sitting.procedure for sitting in found})
    now = datetime.now(UTC)
    for name in names:
        of_it = [sitting for sitting in found if sitting.procedure == name]
        if not of_it:
            raise UsageError(f"{name} was not rehearsed by {whose}; begin: companion rehearse {name}")
        try:
            known = load_rehearsed(find(procedure or name)).procedure
        except CompanionError as fault:
            tell(f"* {name}: {_times(len(of_it))}; its procedure is not here any more ({fault})")
            continue
        steps = folded(known, of_it)
        tell(line(f"{known.title}: {_times(len(of_it))}; the last one: {of_it[-1].judgement.outcome}"))
        tell(line(_named([step.title for step in due(steps, now)]), "Due now: "))
        if weak_stretch(known, steps, now):
            tag = f" --student {student}" if student else ""
            tell(f"Drill:   companion rehearse {name} --only weak --help headings{tag}")
        _show(weakest_first(steps), now, whole)


def _show(steps: list[StepProgress], now: datetime, whole: bool) -> None:
    table = Table()
    table.add_column("Step, the weakest first", no_wrap=True, overflow="ellipsis")
    table.add_column("Last times, newest last", no_wrap=True, overflow="ellipsis")
    table.add_column("Well", no_wrap=True)
    table.add_column("Due again", no_wrap=True)
    shown = steps if whole else steps[:_ROWS]
    for step in shown:
        well = sum(each == "well" for each in step.went)
        when = "now" if step.due is None or step.due <= now else step.due.date().isoformat()
        mark = "* " if step.critical else ""
        table.add_row(cell(mark + step.title), ", ".join(step.went[-_TIMES:]), f"{well} of {len(step.went)}", when)
    console = Console()
    console.print(table)
    more = len(steps) - len(shown)
    tell("* critical" + (f"; {more} more steps are shown by --all" if more else ""))


def _named(titles: list[str]) -> str:
    """How many, and the first of them."""
    if not titles:
        return "nothing"
    more = len(titles) - _NAMED
    number = "1 step" if len(titles) == 1 else f"{len(titles)} steps"
    return f"{number}: {', '.join(titles[:_NAMED])}" + (f" and {more} more" if more > 0 else "")


def _times(number: int) -> str:
    return "one rehearsal" if number == 1 else f"{number} rehearsals"

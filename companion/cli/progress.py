"""`companion progress`: how each step has gone, and what is due again."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from companion import places
from companion.cli.terminal import tell
from companion.core.findings import JUDGED, judgement_from_json
from companion.errors import CompanionError, RecordError, UsageError
from companion.loading import find, load
from companion.record.reader import read_record
from companion.record.verify import mentions, records_in
from companion.rehearsal.progress import Sitting, StepProgress, due, weak_stretch
from companion.rehearsal.progress import progress as folded

_SHOWN = 6


def sittings(folder: Path, student: str) -> Iterator[Sitting]:
    """The judged rehearsals in the records of a folder: those of `student` (a tag), or those without a tag.

    Records that cannot be read or believed are named on standard error; those that hold no judgement are passed over.
    """
    for path in records_in(folder) if folder.is_dir() else ():
        try:
            if not mentions(path, JUDGED):
                continue
            record = read_record(path)
            bodies = [entry.body for entry in record.entries if entry.kind == JUDGED]
            judgement = judgement_from_json(bodies[-1]) if bodies else None
        except (RecordError, ValueError) as fault:
            tell(f"* Not counted: {fault}", err=True)
            continue
        if judgement is not None and judgement.performer == student:
            yield Sitting(record.opening["procedure_id"], record.entries[0].when(), judgement)


def progress(
    procedure: Annotated[str, typer.Argument(help="Name of a procedure; all that were rehearsed when left out.")] = "",
    student: Annotated[str, typer.Option(help="Your tag.")] = "",
    records: Annotated[Path | None, typer.Option(help="Folder of the records.")] = None,
) -> None:
    """Each step over your rehearsals, when it is due again, and the drill for the weak stretch."""
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
            known = load(find(procedure or name)).procedure
        except CompanionError as fault:
            print(f"* {name}: {_times(len(of_it))}; its procedure is not here any more ({fault})")
            continue
        steps = folded(known, of_it)
        _show(f"{known.title}: {_times(len(of_it))}", steps, now)
        again = due(steps, now)
        print(f"Due now: {', '.join(step.title for step in again) or 'nothing'}")
        if weak_stretch(known, steps, now):
            tag = f" --student {student}" if student else ""
            print(f"Drill:   companion rehearse {name} --only weak --help headings{tag}")


def _show(title: str, steps: list[StepProgress], now: datetime) -> None:
    table = Table(title=title, title_justify="left")
    for name in ("Step", "Last times, newest last", "Well", "Due again"):
        table.add_column(name)
    for step in steps:
        if step.due is not None:
            well = sum(each == "well" for each in step.went)
            when = "now" if step.due <= now else step.due.date().isoformat()
            mark = " *" if step.critical else ""
            table.add_row(step.title + mark, ", ".join(step.went[-_SHOWN:]), f"{well} of {len(step.went)}", when)
    console = Console()
    console.print(table)
    console.print("* critical")


def _times(number: int) -> str:
    return "one rehearsal" if number == 1 else f"{number} rehearsals"

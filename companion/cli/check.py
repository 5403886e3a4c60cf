"""`companion check`: is a procedure file fit to be used?"""

from typing import Annotated

import typer

from companion.core.ideas import remarks
from companion.errors import ProcedureError
from companion.loading import find, load


def check(
    files: Annotated[list[str], typer.Argument(help="Procedure files, or names of procedures.")],
    ideas: Annotated[
        bool, typer.Option("--ideas", help="Also what a rehearsal from memory could not tell apart.")
    ] = False,
) -> None:
    """Print every fault of each file with its line, or that there is none. Exit code 1 when anything is wrong."""
    wrong = False
    for name in files:
        try:
            path = find(name)
            loaded = load(path)
        except ProcedureError as error:
            wrong = True
            for fault in error.faults:
                typer.echo(fault)
            continue
        count = sum(1 for _ in loaded.procedure.all_steps())
        typer.echo(f"{path}: no faults ({count} steps, {len(loaded.procedure.branches)} branches)")
        for remark in remarks(loaded.procedure) if ideas else ():
            typer.echo(f"{path}: note: step `{remark.step}` {remark.message}")
    if wrong:
        raise typer.Exit(1)

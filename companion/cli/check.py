"""`companion check`: is a procedure file fit to be used?"""

import sys
from typing import Annotated

import typer
from rich.console import Console

from companion.cli.terminal import tell
from companion.errors import ProcedureError
from companion.meaning.ideas import remarks
from companion.procedure.loading import Loaded, find, load, located
from companion.procedure.proofreading.wanting import wanting
from companion.procedure.proving import Proof, prove


def check(
    files: Annotated[list[str], typer.Argument(help="Procedure files, or names of procedures.")],
    ideas: Annotated[
        bool, typer.Option("--ideas", help="Also what a rehearsal from memory could not tell apart.")
    ] = False,
) -> None:
    """Print every fault of each file with its line, or that there is none. Exit code 1 when anything is wrong.

    What the file says must always hold is proved by going through everything that can be said and happen.
    Lines that begin with `*` tell what a file that can be used still wants.
    """
    wrong = False
    for name in files:
        try:
            path = find(name)
            loaded = load(path)
        except ProcedureError as error:
            wrong = True
            for fault in error.faults:
                tell(fault)
            continue
        proof = _proved(loaded)
        for unproved in proof.unproved:
            wrong = True
            tell(located(loaded, unproved.fault))
            for line in unproved.way:
                tell(f"    {line}")
        if not proof.unproved:
            tell(f"{path}: no faults ({_counted(loaded, proof)})")
        for want in wanting(loaded.procedure):
            tell(f"* {path}: {want}")
        for remark in remarks(loaded.procedure) if ideas else ():
            tell(f"{path}: note: step `{remark.step}` {remark.message}")
    if wrong:
        raise typer.Exit(1)


def _proved(loaded: Loaded) -> Proof:
    with Console(stderr=True).status("Proving the rules", spinner="line") as status:
        if not sys.stderr.isatty():
            status.stop()
        return prove(loaded.procedure, progress=lambda states: status.update(f"Proving the rules: {states:,} states"))


def _counted(loaded: Loaded, proof: Proof) -> str:
    procedure = loaded.procedure
    counts = [(sum(1 for _ in procedure.all_steps()), "steps"), (len(procedure.branches), "branches")]
    counted = ", ".join(f"{number} {what}" for number, what in counts)
    rules = len(procedure.always)
    if not rules:
        return counted
    return f"{counted}; {rules} rule{'s' if rules != 1 else ''} proved in {proof.states:,} states"

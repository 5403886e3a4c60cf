"""`companion check`: is a procedure file fit to be used?"""

import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
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
    read: list[Loaded | ProcedureError] = []
    for name in files:
        try:
            read.append(load(find(name)))
        except ProcedureError as error:
            read.append(error)
    proofs = _proofs([each for each in read if isinstance(each, Loaded)])
    for loaded in read:
        if isinstance(loaded, ProcedureError):
            wrong = True
            for fault in loaded.faults:
                tell(fault)
            continue
        proof = next(proofs)
        path = loaded.path
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


def _proofs(read: Sequence[Loaded]) -> Iterator[Proof]:
    """The proof of each file, in their order; several are worked out side by side, the longest first."""
    with _turning() as tell_progress:
        if len(read) < 2:
            yield from (prove(each.procedure, progress=tell_progress) for each in read)
            return
        with ProcessPoolExecutor() as pool:
            longest = sorted(range(len(read)), key=lambda number: -len(read[number].text))
            proofs = {number: pool.submit(prove, read[number].procedure) for number in longest}
            yield from (proofs[number].result() for number in range(len(read)))


@contextmanager
def _turning() -> Iterator[Callable[[int], None]]:
    """Shows somebody at a terminal that it goes on; gives what to call with the states looked at so far."""
    with Console(stderr=True).status("Proving the rules", spinner="line") as status:
        if not sys.stderr.isatty():
            status.stop()
        yield lambda states: status.update(f"Proving the rules: {states:,} states")


def _counted(loaded: Loaded, proof: Proof) -> str:
    procedure = loaded.procedure
    counts = [(sum(1 for _ in procedure.all_steps()), "steps"), (len(procedure.branches), "branches")]
    counted = ", ".join(f"{number} {what}" for number, what in counts)
    rules = len(procedure.always)
    if not rules:
        return counted
    return f"{counted}; {rules} rule{'s' if rules != 1 else ''} proved in {proof.states:,} states"

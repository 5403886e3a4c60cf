"""What a usable procedure file still wants: no fault, and yet something that its author should know."""

from collections.abc import Iterator

from companion.procedure.model import Procedure
from companion.procedure.proofreading.writing import cautions


def wanting(procedure: Procedure) -> Iterator[str]:
    """One sentence for each sort of thing that is missing, with the ids of the steps."""
    if without := [step.id for step in procedure.steps if not step.ideas]:
        yield f"without `ideas`, nobody can tell when these steps are said from memory: {', '.join(without)}"
    if without := [step.id for step in procedure.all_steps() if not step.sources]:
        yield f"without `sources`, nobody can look up what these steps rest on: {', '.join(without)}"
    critical = [step for step in procedure.steps if step.critical][1:]
    without = [step.id for step in critical if not step.after]
    if 2 * len(without) > len(critical):
        yield f"without `after`, nothing tells when these critical steps are out of order: {', '.join(without)}"
    if not any(branch.emergency for branch in procedure.branches):
        yield "without `emergency: yes` at a branch that is `heard`, no emergency can be told at any moment"
    yield from cautions(procedure)

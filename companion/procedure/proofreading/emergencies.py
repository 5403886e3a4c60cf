"""An emergency can be told at any moment."""

from collections.abc import Iterator

from companion.procedure.model import Procedure
from companion.procedure.proofreading.placed import Fault


def faults(procedure: Procedure) -> Iterator[Fault]:
    """A branch called an emergency is heard, and everywhere."""
    for index, branch in enumerate(procedure.branches):
        path = ("branches", index)
        if branch.emergency and not branch.heard:
            yield Fault((*path, "emergency"), "an emergency has to be told; accepted: with `heard`")
        if branch.emergency and branch.at:
            yield Fault((*path, "at"), "an emergency counts at any moment; take `at` out")

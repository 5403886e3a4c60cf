"""Steps with the place they stand in, and faults."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from companion.procedure.model import Branch, Procedure
from companion.procedure.steps import Step

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Fault:
    """What is wrong and what is accepted. `path` leads from the top of the file to the culprit."""

    path: Path
    message: str


@dataclass(frozen=True)
class Site:
    """A step, the list it stands in, and its index there. `branch` is None for the main steps."""

    step: Step
    path: Path
    branch: Branch | None
    index: int

    def fault(self, message: str, *where: str | int) -> Fault:
        """A fault at a key of this step."""
        return Fault((*self.path, *where), message)


def sites(procedure: Procedure) -> Iterator[Site]:
    """Every step: the main ones in order, then each branch's."""
    for index, step in enumerate(procedure.steps):
        yield Site(step, ("steps", index), None, index)
    for number, branch in enumerate(procedure.branches):
        for index, step in enumerate(branch.steps):
            yield Site(step, ("branches", number, "steps", index), branch, index)


def main_index(procedure: Procedure) -> Mapping[str, int]:
    """Place of each main step in the guided order, by id."""
    return {step.id: index for index, step in enumerate(procedure.steps)}


def a_kind(step: Step) -> str:
    """`an observation`, for a message."""
    return f"an {step.kind}" if step.kind[0] in "aeiou" else f"a {step.kind}"


def in_words(names: list[str]) -> str:
    """`a, b, c` for a message, cut where nobody would read on; `none` for nothing."""
    if not names:
        return "none"
    shown = ", ".join(f"`{name}`" for name in names[:12])
    return shown + (f" and {len(names) - 12} more" if len(names) > 12 else "")

"""Names: each given once."""

from collections.abc import Iterator

from companion.procedure.kinds.identification import IdentificationStep
from companion.procedure.model import Procedure
from companion.procedure.proofreading.placed import Fault, Path, sites


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Steps, branches and settings share one set of names; sources, people and items have their own."""
    shared: list[tuple[str, Path, str]] = [
        (setting.id, ("settings", index, "id"), "setting") for index, setting in enumerate(procedure.settings)
    ]
    shared += [(site.step.id, (*site.path, "id"), "step") for site in sites(procedure)]
    shared += [(branch.id, ("branches", index, "id"), "branch") for index, branch in enumerate(procedure.branches)]
    yield from _twice(shared)
    yield from _twice([(s.id, ("sources", index, "id"), "source") for index, s in enumerate(procedure.sources)])
    yield from _twice([(p.id, ("people", index, "id"), "person") for index, p in enumerate(procedure.people)])
    for site in sites(procedure):
        if isinstance(site.step, IdentificationStep):
            items = enumerate(site.step.items)
            yield from _twice([(item.id, (*site.path, "items", index, "id"), "item") for index, item in items])


def _twice(named: list[tuple[str, Path, str]]) -> Iterator[Fault]:
    first: dict[str, str] = {}
    for name, path, noun in named:
        if name in first:
            yield Fault(path, f"the id `{name}` is already that of {first[name]}; accepted: an id of its own")
        else:
            first[name] = f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"

"""The order in the file keeps the order that matters."""

from collections.abc import Iterator

from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.kinds.wait import WaitStep
from companion.procedure.kinds.worked_out import CalculationStep, CheckStep
from companion.procedure.model import Procedure
from companion.procedure.order import cycles, must_precede
from companion.procedure.proofreading.placed import Fault, Site, a_kind, sites
from companion.speech.values import ChoiceValue, NumberValue


def faults(procedure: Procedure) -> Iterator[Fault]:
    """`after`, `since` and `of` point backwards, nothing waits for itself, and a signature closes it."""
    places = {site.step.id: site for site in sites(procedure)}
    for site in places.values():
        for index, after in enumerate(site.step.after):
            yield from _backwards(places, site, after.step, ("after", index, "step"))
        if (every := site.step.rounds) is not None and (every.most is None) != (every.then is None):
            given, lacks = ("most", "then") if every.then is None else ("then", "most")
            yield site.fault(f"`{given}` stands without `{lacks}`; accepted: both or neither", "every", given)
        if isinstance(site.step, WaitStep):
            yield from _wait(places, site, site.step)
        if isinstance(site.step, CheckStep):
            yield from _check(procedure, places, site, site.step)
    for chain in cycles(must_precede(procedure)):
        if len(chain) > 1:
            written = ", which comes after ".join(f"`{name}`" for name in reversed((chain[0], *chain[1:], chain[0])))
            yield places[chain[0]].fault(f"`after` goes round in a circle: {written}", "after")
    last = procedure.steps[-1]
    if last.signed is None:
        message = f"the last main step is `{last.id}`, {a_kind(last)}; accepted: a signature, which closes the record"
        yield Fault(("steps", len(procedure.steps) - 1), message)


def _backwards(places: dict[str, Site], site: Site, name: str, where: tuple[str | int, ...]) -> Iterator[Fault]:
    """`name` is a step that comes before `site` in the same list, or a main step when `site` is in a branch."""
    other = places.get(name)
    key = where[0]
    if other is None:
        yield site.fault(f"`{key}` names `{name}`, which is no step; accepted: the id of an earlier step", *where)
    elif other.step.id == site.step.id:
        yield site.fault(f"`{key}` names the step itself; accepted: an earlier step", *where)
    elif other.branch is not None and other.branch is not site.branch:
        message = f"`{key}` names `{name}`, a step of the branch `{other.branch.id}`; accepted: an earlier step here"
        yield site.fault(message + ("" if site.branch is None else " or a main step"), *where)
    elif other.branch is site.branch and other.index > site.index:
        message = f"`{key}` names `{name}`, which comes later in the file; accepted: an earlier step"
        yield site.fault(message, *where)


def _wait(places: dict[str, Site], site: Site, step: WaitStep) -> Iterator[Fault]:
    if step.since is not None:
        yield from _backwards(places, site, step.since, ("since",))
    if step.at_most is not None and step.at_most < step.at_least:
        message = (
            f"`at_most` ({step.at_most} s) is less than `at_least` ({step.at_least} s); accepted: as long or longer"
        )
        yield site.fault(message, "at_most")
    if step.late is not None and step.at_most is None:
        yield site.fault("`late` names a branch and there is no `at_most`; accepted: both or neither", "late")


def _check(procedure: Procedure, places: dict[str, Site], site: Site, step: CheckStep) -> Iterator[Fault]:
    other = places.get(step.of)
    reading = other is not None and isinstance(other.step, ReadingStep)
    if other is None or not (reading or isinstance(other.step, CalculationStep)):
        what = "is no step" if other is None else f"is {a_kind(other.step)}"
        yield site.fault(f"`of` names `{step.of}`, which {what}; accepted: the id of a calculation or reading", "of")
        return
    yield from _backwards(places, site, step.of, ("of",))
    if isinstance(other.step, ReadingStep):
        if not isinstance(other.step.value, NumberValue | ChoiceValue):
            message = f"`of` names `{step.of}`, a {other.step.value.type}; accepted: a reading of a number or choice"
            yield site.fault(message, "of")
        if not other.step.critical:
            message = f"`of` names `{step.of}`, which is not critical and may be left out; accepted: a critical reading"
            yield site.fault(message, "of")
        if step.ask is None:
            yield site.fault("`ask` is missing; accepted: what the second person is to look at and say", "ask")
        return
    first = procedure.check_of(step.of)
    if first is not None and first.id != step.id:
        yield site.fault(
            f"`{first.id}` already checks `{step.of}`; accepted: one independent check a calculation", "of"
        )

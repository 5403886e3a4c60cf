"""Error-prone writing in what a procedure says or shows, by the rule book of writings."""

from collections.abc import Iterator

from companion.procedure.model import Procedure
from companion.procedure.proofreading import said
from companion.procedure.proofreading.placed import Fault, Site, sites
from companion.speech.values import NumberValue
from companion.speech.writing import Remark, remarks

Where = tuple[str | int, ...]


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Each misreadable piece of writing in what is spoken or shown. Titles of sources are left as published."""
    return (Fault(path, remark.sentence) for path, remark in _remarks(procedure) if remark.refused)


def cautions(procedure: Procedure) -> tuple[str, ...]:
    """What is taken and could be written better."""
    return tuple(dict.fromkeys(remark.sentence for _, remark in _remarks(procedure) if not remark.refused))


def _remarks(procedure: Procedure) -> Iterator[tuple[Where, Remark]]:
    return ((path, remark) for path, text in _written(procedure) for remark in remarks(text))


def _written(procedure: Procedure) -> Iterator[tuple[Where, str]]:
    yield ("title",), procedure.title
    yield ("summary",), procedure.summary
    for key in ("cautions", "local_policy"):
        for index, text in enumerate(getattr(procedure, key)):
            yield (key, index), text
    for index, setting in enumerate(procedure.settings):
        yield ("settings", index, "about"), setting.about
        yield ("settings", index, "value"), setting.value
    for index, person in enumerate(procedure.people):
        yield ("people", index, "does"), person.does
    for site in sites(procedure):
        yield from _of_step(site)
    for index, branch in enumerate(procedure.branches):
        yield ("branches", index, "title"), branch.title
        if branch.ends.reason is not None:
            yield ("branches", index, "ends", "reason"), branch.ends.reason


def _of_step(site: Site) -> Iterator[tuple[Where, str]]:
    step = site.step
    for key in ("title", "say", "short", "caution", "reason", "hint", "ask"):
        text = getattr(step, key, None)
        if text is not None:
            yield (*site.path, key), text
    for index, after in enumerate(step.after):
        yield (*site.path, "after", index, "because"), after.because
    for where, text in said.texts(site):
        if len(where) > 1:  # the step's own texts stand above
            yield (*site.path, *where), text
    value = getattr(step, "value", None)
    if isinstance(value, NumberValue):
        yield (*site.path, "value", "unit"), value.unit

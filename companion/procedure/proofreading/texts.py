"""`{name}` in a text is known, already given, and tells nobody what to answer."""

from collections.abc import Iterator

from companion.procedure.model import Procedure
from companion.procedure.proofreading import said
from companion.procedure.proofreading.conditions import asked_with
from companion.procedure.proofreading.placed import Fault, Site, in_words, main_index, sites
from companion.procedure.proofreading.references import first_entry
from companion.procedure.steps import Step
from companion.speech.values import NumberValue

Where = tuple[str | int, ...]


def faults(procedure: Procedure) -> Iterator[Fault]:
    """The names that may stand in braces are settings, readings and calculations."""
    settings = [setting.id for setting in procedure.settings]
    for path, text in _general(procedure):
        for name in said.names_in(text):
            if name not in settings:
                message = f"`{{{name}}}` is no setting; accepted here: {in_words(settings)}"
                yield Fault(path, message)
    given = {site.step.id: site for site in sites(procedure) if site.step.stated is not None}
    for site in sites(procedure):
        for where, text in _all_texts(site):
            for name in said.names_in(text):
                if name in settings:
                    continue
                if name not in given:
                    accepted = in_words([*settings, *given])
                    message = f"`{{{name}}}` is no setting, reading or calculation; accepted: {accepted}"
                    yield site.fault(message, *where)
                    continue
                yield from _in_time(procedure, site, given[name], where)
                yield from _leading(procedure, site, given[name], where)


def _general(procedure: Procedure) -> Iterator[tuple[Where, str]]:
    yield ("summary",), procedure.summary
    for key in ("cautions", "local_policy"):
        for index, text in enumerate(getattr(procedure, key)):
            yield (key, index), text
    for index, person in enumerate(procedure.people):
        yield ("people", index, "does"), person.does
    for index, branch in enumerate(procedure.branches):
        yield ("branches", index, "title"), branch.title
        if branch.ends.reason is not None:
            yield ("branches", index, "ends", "reason"), branch.ends.reason


def _all_texts(site: Site) -> Iterator[tuple[Where, str]]:
    yield from said.texts(site)
    if site.step.short is not None:
        yield ("title",), site.step.title
    for index, after in enumerate(site.step.after):
        yield ("after", index, "because"), after.because


def _in_time(procedure: Procedure, site: Site, source: Site, where: Where) -> Iterator[Fault]:
    """The value was given before it is spoken, whichever way the step was reached."""
    name = source.step.id
    if source.branch is site.branch:
        known = source.index < site.index
    elif source.branch is not None or site.branch is None:
        known = False
    else:
        entry = first_entry(procedure, site.branch)
        known = entry is not None and source.index < entry
    if known and not asked_with(procedure, source.step, site.step):
        message = f"`{{{name}}}` is spoken where `{name}` may not have been due; accepted: the same `when` for both"
        yield site.fault(message, *where)
    if not known:
        message = (
            f"`{{{name}}}` is spoken where the value may not have been given yet; accepted: values of earlier steps"
        )
        yield site.fault(message, *where)


def _leading(procedure: Procedure, site: Site, source: Site, where: Where) -> Iterator[Fault]:
    """No figure under seal is spoken, and no value where one of the same unit is asked."""
    name = source.step.id
    check = procedure.check_of(name)
    if source.step.worked_out and check is not None and not _after(procedure, site, check):
        message = f"`{{{name}}}` would be heard before `{check.id}` has compared it; accepted: only after that step"
        yield site.fault(message, *where)
        return
    if site.step.checks == name:
        message = f"`{{{name}}}` is what the second person has to read without a hint; accepted: a text without it"
        yield site.fault(message, *where)
        return
    value = source.step.stated
    for _, spec in said.values_said(procedure, site):
        if isinstance(spec, NumberValue) and isinstance(value, NumberValue) and spec.unit == value.unit:
            message = f"`{{{name}}}` could be taken for the answer, also in {spec.unit}; accepted: a text without it"
            yield site.fault(message, *where)


def _after(procedure: Procedure, site: Site, check: Step) -> bool:
    mains = main_index(procedure)
    if check.id not in mains:
        return False
    if site.branch is None:
        return site.index > mains[check.id]
    entry = first_entry(procedure, site.branch)
    return entry is not None and entry > mains[check.id]

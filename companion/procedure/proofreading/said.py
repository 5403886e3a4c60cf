"""What is spoken at a step, what may be answered there, and which branches it leads to."""

import re
from collections.abc import Iterator, Mapping
from datetime import date

from companion.procedure.kinds import KINDS
from companion.procedure.kinds.base import Where
from companion.procedure.model import Branch, Procedure
from companion.procedure.proofreading.placed import Site
from companion.speech.value_phrases import phrases_for
from companion.speech.values import DateValue, ValueSpec

Said = Mapping[str, str]
"""A phrase and what it means, in a few words."""

# Phrases of numbers, times, choices and tags are the same on every day; dates are left out.
_ANY_DAY = date(2026, 1, 1)
_NAME = re.compile(r"\{([^{}]*)\}")


def names_in(text: str) -> list[str]:
    """The names that stand in braces."""
    return _NAME.findall(text)


def texts(site: Site) -> Iterator[tuple[Where, str]]:
    """Every text spoken at a step, with its keys inside the step. The title is spoken where there is no `short`."""
    step = site.step
    for key in ("say", "short", "caution", "hint", "reason"):
        text = getattr(step, key)
        if text is not None:
            yield (key,), text
    if step.short is None:
        yield ("title",), step.title
    if step.rounds is not None:
        yield ("every", "say"), step.rounds.say
    yield from KINDS[step.kind].texts(step)


def sentences(text: str, procedure: Procedure) -> Iterator[tuple[str, bool]]:
    """The sentences of a text, settings filled in, and whether each is a question."""
    settings = {setting.id: setting.value for setting in procedure.settings}
    filled = _NAME.sub(lambda found: settings.get(found[1], found[0]), text)
    for part in re.findall(r"[^.;:!?]*(?:\.(?=\S)[^.;:!?]*)*[.;:!?]?", filled):
        if part.strip():
            yield part.strip().rstrip(".;:!?"), part.rstrip().endswith("?")


def own_replies(site: Site) -> Iterator[tuple[Where, tuple[str, ...], str]]:
    """The phrases a step's file lists, each group with its keys and meaning."""
    yield from KINDS[site.step.kind].replies(site.step)


def values_said(procedure: Procedure, site: Site) -> Iterator[tuple[Where, ValueSpec]]:
    """What kinds of value may be given at a step, with the keys that declare it."""
    yield from KINDS[site.step.kind].values(site.step, procedure)


def value_phrases(procedure: Procedure, spec: ValueSpec) -> frozenset[str]:
    """How values may be said. Raises CompanionError where they cannot be."""
    found = phrases_for(spec, _ANY_DAY, language=procedure.language)
    return frozenset() if isinstance(spec, DateValue) else frozenset(found)


def branches_taken(site: Site) -> Iterator[tuple[str, Where]]:
    """Each branch a step can send the session into, and the keys inside the step that say so."""
    step = site.step
    yield from KINDS[step.kind].branches(step)
    if step.rounds is not None and step.rounds.then is not None:
        yield step.rounds.then, ("every", "then")


def branches_heard(procedure: Procedure, site: Site) -> Iterator[Branch]:
    """The branches whose `heard` counts at a step: those that count anywhere, and of the others not the one the step
    is in."""
    for branch in procedure.branches:
        if not branch.at or (branch is not site.branch and site.step.id in branch.at):
            yield branch

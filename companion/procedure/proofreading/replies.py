"""Each phrase means one thing, and a critical reply has content."""

from collections.abc import Iterator

from companion.errors import CompanionError
from companion.procedure.kinds.action import ActionStep
from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.model import Procedure
from companion.procedure.proofreading import said
from companion.procedure.proofreading.placed import Fault, Site, sites
from companion.speech.controls import reserved
from companion.speech.language import control_phrases

# Degani and Wiener, Human Factors 1993;35(2):28-43: reply with the actual value, not "checked".
_EMPTY = frozenset(
    "a all am and been checked complete completed correct do done finished fine good got has have i is it next no not "  # noqa: SIM905
    "now ok okay ready right so sure that the this we yeah yes".split()
)


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Judged at every step with everything that may be said there: its own, the branches' and the controls."""
    controls = reserved(procedure.language)
    # What counts at any moment counts beside the answers to the program's own questions too.
    anywhere = {word for words in control_phrases(procedure.language).values() for word in words}
    for number, branch in enumerate(procedure.branches):
        for index, phrase in enumerate(branch.heard):
            if phrase in (controls if branch.at else anywhere):
                yield Fault(("branches", number, "heard", index), _control(phrase))
    for site in sites(procedure):
        values: set[str] = set()
        for where, spec in said.values_said(procedure, site):
            try:
                values |= said.value_phrases(procedure, spec)
            except CompanionError as error:
                yield site.fault(f"its value cannot be said: {error}", *where)
        yield from _clashes(procedure, site, values, controls)
        yield from _critical(site)


def _control(phrase: str) -> str:
    return f"`{phrase}` is one of the program's own phrases; accepted: other words"


def _clashes(procedure: Procedure, site: Site, values: set[str], controls: frozenset[str]) -> Iterator[Fault]:
    taken = dict.fromkeys(values, "gives the value")
    for branch in said.branches_heard(procedure, site):
        for phrase in branch.heard:
            meaning = f"takes the branch `{branch.id}`"
            if taken.setdefault(phrase, meaning) != meaning:
                message = f"`{phrase}` would mean two things at step `{site.step.id}`: {taken[phrase]}, and {meaning}"
                path = ("branches", procedure.branches.index(branch), "heard")
                yield Fault(path, f"{message}; accepted: one meaning a phrase")
    items: dict[str, dict[str, str]] = {}
    for where, replies, meaning in said.own_replies(site):
        # Items are asked one after the other, so the same words may serve two of them.
        group = f"{where[1]}" if site.step.asked_apart else ""
        known = items.setdefault(group, dict(taken))
        for index, phrase in enumerate(replies):
            if phrase in controls:
                yield site.fault(_control(phrase), *where, index)
            elif known.setdefault(phrase, meaning) != meaning:
                message = f"`{phrase}` would mean two things here: {known[phrase]}, and {meaning}"
                yield site.fault(f"{message}; accepted: one meaning a phrase", *where, index)
    for clash in sorted(values & controls):
        yield site.fault(_control(clash), "value")


def _critical(site: Site) -> Iterator[Fault]:
    step = site.step
    if not step.critical:
        return
    if isinstance(step, ReadingStep) and not step.read_back:
        yield site.fault(
            "a critical reading is read back; accepted: `read_back: true`, or the key left out", "read_back"
        )
    if isinstance(step, ActionStep) and step.read_back:
        return
    for where, replies, _ in said.own_replies(site):
        for index, phrase in enumerate(replies):
            spoken = phrase.split()
            if len(spoken) < 2 or set(spoken) <= _EMPTY:
                message = f"`{phrase}` says too little for a critical step; accepted: two words or more that name"
                extra = ", or `read_back: true`" if isinstance(step, ActionStep) else ""
                yield site.fault(f"{message} what was done or seen{extra}", *where, index)

"""Each phrase means one thing, a critical reply has content, and no prompt says a reply."""

from collections.abc import Iterator
from functools import lru_cache

from companion.core.lint import said
from companion.core.lint.sites import Fault, Site, sites
from companion.core.procedure import ActionStep, IdentificationStep, Procedure, ReadingStep
from companion.errors import CompanionError

# Degani and Wiener, Human Factors 1993;35(2):28-43: reply with the actual value, not "checked".
_EMPTY = frozenset(
    "a all am and been checked complete completed correct do done finished fine good got has have i is it next no not "  # noqa: SIM905
    "now ok okay ready right so sure that the this we yeah yes".split()
)


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Judged at every step with everything that may be said there: its own, the branches' and the controls."""
    controls = said.controls(procedure)
    for number, branch in enumerate(procedure.branches):
        for index, phrase in enumerate(branch.heard):
            if phrase in controls:
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
        yield from _contained(procedure, site, values, controls)


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
        group = f"{where[1]}" if isinstance(site.step, IdentificationStep) else ""
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


def _contained(procedure: Procedure, site: Site, values: set[str], controls: frozenset[str]) -> Iterator[Fault]:
    heard = {phrase for branch in said.branches_heard(procedure, site) for phrase in branch.heard}
    own = {phrase for _, replies, _ in said.own_replies(site) for phrase in replies}
    kinds = (
        (controls, "one of the program's own phrases", "a text without those words"),
        (frozenset(own | heard), "an acceptable reply", "a text without those words"),
        (frozenset(values), "a value that may be given here", "a text without it"),
    )
    for where, text in said.texts(site):
        spoken = said.words(text, procedure)
        for phrases, kind, better in kinds:
            for phrase in _runs(spoken, phrases):
                yield site.fault(f"`{where[-1]}` says `{phrase}`, {kind}; accepted: {better}", *where)


def _runs(spoken: list[str], phrases: frozenset[str]) -> list[str]:
    """The phrases that stand in the text word for word, the longest at each place."""
    lengths = _lengths(phrases)
    found = set()
    place = 0
    while place < len(spoken):
        for length in lengths.get(spoken[place], ()):
            run = " ".join(spoken[place : place + length])
            if run in phrases:
                found.add(run)
                place += length - 1
                break
        place += 1
    return sorted(found)


@lru_cache(maxsize=64)
def _lengths(phrases: frozenset[str]) -> dict[str, tuple[int, ...]]:
    """By first word, how many words the phrases have that begin so; the longest first."""
    found: dict[str, set[int]] = {}
    for phrase in phrases:
        first, *rest = phrase.split(" ")
        found.setdefault(first, set()).add(len(rest) + 1)
    return {first: tuple(sorted(lengths, reverse=True)) for first, lengths in found.items()}

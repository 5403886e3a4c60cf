"""The rules that must always hold name steps and branches that are there."""

from collections.abc import Iterator

from companion.procedure.always import AlwaysOpen, Deed, NeverEndsWithout, NeverLeftWithout, NeverWithout
from companion.procedure.model import Procedure
from companion.procedure.proofreading.placed import Fault, Path, in_words, sites


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Names that are no step or branch, a rule that asks a step for itself, and a branch without words."""
    steps = {site.step.id for site in sites(procedure)}
    branches = {branch.id: branch for branch in procedure.branches}
    for number, rule in enumerate(procedure.always):
        path: Path = ("always", number)
        deeds: list[tuple[Path, Deed]] = []
        subject: Deed = ()
        if isinstance(rule, NeverWithout):
            subject = rule.step
            deeds.append(((*path, "step"), subject))
        elif isinstance(rule, NeverEndsWithout):
            subject = rule.after
            deeds.append(((*path, "after"), subject))
        elif rule.branch not in branches:
            message = f"the branch `{rule.branch}` does not exist; accepted: {in_words(list(branches))}"
            yield Fault((*path, "branch"), message)
        elif isinstance(rule, AlwaysOpen) and not branches[rule.branch].heard:
            message = f"no word takes the branch `{rule.branch}`; accepted: a branch with `heard`"
            yield Fault((*path, "branch"), message)
        if isinstance(rule, NeverWithout | NeverEndsWithout | NeverLeftWithout):
            for index, need in enumerate(rule.needs):
                deeds.append(((*path, "needs", index), need))
                for name in sorted(set(need) & set(subject)):
                    yield Fault((*path, "needs", index), f"the rule asks `{name}` for itself; accepted: another step")
        for where, deed in deeds:
            for place, name in enumerate(deed):
                if name not in steps:
                    message = f"the step `{name}` does not exist; accepted: the id of a step"
                    yield Fault((*where, place), message)

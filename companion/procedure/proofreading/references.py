"""Whatever is named exists and is of the right kind."""

from collections.abc import Iterator

from companion.procedure.kinds.observation import ObservationStep
from companion.procedure.model import Branch, Procedure
from companion.procedure.proofreading import said
from companion.procedure.proofreading.placed import Fault, in_words, main_index, sites


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Sources, branches and steps that are named and are not there, and branches nobody can take."""
    if not procedure.sources:
        yield Fault((), "`sources` is missing or empty; accepted: at least one published source")
    known = [source.id for source in procedure.sources]
    for site in sites(procedure):
        for index, source in enumerate(site.step.sources):
            if source not in known:
                message = f"the source `{source}` is not in `sources`; accepted: {in_words(known)}"
                yield site.fault(message, "sources", index)
    branches = [branch.id for branch in procedure.branches]
    for site in sites(procedure):
        for name, where in said.branches_taken(site):
            if name not in branches:
                message = f"the branch `{name}` does not exist; accepted: {in_words(branches)}"
                yield site.fault(message, *where)
    yield from _branches(procedure)
    yield from _settled(procedure)


def _settled(procedure: Procedure) -> Iterator[Fault]:
    """A settled answer names a branch that the same step leads to and that comes back."""
    coming_back = {branch.id for branch in procedure.branches if branch.ends.do == "return"}
    for site in sites(procedure):
        if not isinstance(site.step, ObservationStep):
            continue
        heard = {branch.id for branch in said.branches_heard(procedure, site) if branch.heard}
        led = {each.branch for each in site.step.abnormal} | heard
        led |= {branch.then for branch in procedure.branches if branch.id in led and branch.then is not None}
        accepted = sorted(led & coming_back)
        for index, settled in enumerate(site.step.settled):
            for place, name in enumerate(settled.branches):
                if name not in accepted:
                    message = f"the branch `{name}` is not one that this step leads to and that comes back to it"
                    yield site.fault(f"{message}; accepted: {in_words(accepted)}", "settled", index, "branches", place)


def _branches(procedure: Procedure) -> Iterator[Fault]:
    taken = {name for site in sites(procedure) for name, _ in said.branches_taken(site)}
    taken |= {branch.then for branch in procedure.branches if branch.then is not None}
    steps = [site.step.id for site in sites(procedure)]
    for index, branch in enumerate(procedure.branches):
        path = ("branches", index)
        if branch.id not in taken and not branch.heard:
            yield Fault((*path, "id"), "nobody can take this branch; accepted: `heard`, or a step that names it")
        if branch.at and not branch.heard:
            yield Fault((*path, "at"), "`at` limits where `heard` counts, and there is no `heard`; take `at` out")
        for place, name in enumerate(branch.at):
            if name not in steps:
                yield Fault((*path, "at", place), f"the step `{name}` does not exist; accepted: the id of a step")
        yield from _limit(procedure, branch, path)
        yield from _ending(procedure, branch, index)


def _limit(procedure: Procedure, branch: Branch, path: tuple[str | int, ...]) -> Iterator[Fault]:
    """A limited branch names one that is not: whatever happens, there is a way on."""
    if (branch.most is None) != (branch.then is None):
        given, lacks = ("most", "then") if branch.then is None else ("then", "most")
        yield Fault((*path, given), f"`{given}` stands without `{lacks}`; accepted: both or neither")
    elif branch.then is not None:
        free = [each.id for each in procedure.branches if each.most is None]
        if branch.then not in free:
            message = f"`then` names `{branch.then}`, which is no branch without a limit of its own"
            yield Fault((*path, "then"), f"{message}; accepted: {in_words(free)}")


def _ending(procedure: Procedure, branch: Branch, index: int) -> Iterator[Fault]:
    ends, path = branch.ends, ("branches", index, "ends")
    mains = main_index(procedure)
    if ends.do != "again":
        if ends.step is not None:
            yield Fault((*path, "step"), f"`step` has no meaning with `do: {ends.do}`; accepted: only with `do: again`")
        if ends.do == "abandon" and ends.reason is None:
            yield Fault(path, "`reason` is missing; accepted: why the session ends, since nothing ends silently")
        return
    if ends.step is None:
        yield Fault(path, "`step` is missing; accepted: the main step to start again from")
        return
    if ends.step not in mains:
        message = f"the step `{ends.step}` is no main step; accepted: a step of the main `steps`"
        yield Fault((*path, "step"), message)
        return
    entry = first_entry(procedure, branch)
    if entry is not None and mains[ends.step] > entry:
        message = (
            f"it starts again from `{ends.step}`, later than `{procedure.steps[entry].id}` where the branch can be "
            "taken, so steps would be skipped; accepted: that step or an earlier one"
        )
        yield Fault((*path, "step"), message)


def first_entry(procedure: Procedure, branch: Branch) -> int | None:
    """Index of the first main step at which a branch can be taken; None when only other branches lead to it."""
    if branch.heard and not branch.at:
        return 0
    mains = main_index(procedure)
    entries = [mains[name] for name in branch.at if name in mains]
    callers: list[Branch] = []
    seen = {branch.id}
    waiting = [branch]
    while waiting:
        wanted = waiting.pop()
        if wanted.heard and not wanted.at:
            return 0
        entries += [mains[name] for name in wanted.at if name in mains]
        before = [branch for branch in procedure.branches if branch.then == wanted.id and branch.id not in seen]
        seen |= {branch.id for branch in before}
        waiting += before
        for site in sites(procedure):
            if all(name != wanted.id for name, _ in said.branches_taken(site)) and site.step.id not in wanted.at:
                continue
            if site.branch is None:
                entries.append(site.index)
            elif site.branch.id not in seen:
                seen.add(site.branch.id)
                callers.append(site.branch)
                waiting.append(site.branch)
    return min(entries, default=None)

"""Proves the rules of a procedure by going through everything that can be said and happen in it. Pure."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from companion.machine.machine import Machine
from companion.procedure.always import AlwaysOpen, NeverEndsWithout, NeverLeftWithout, NeverWithout, Rule
from companion.procedure.model import Procedure
from companion.procedure.proofreading.placed import Fault
from companion.procedure.proving.exploring import Explored, Explorer
from companion.procedure.proving.stepping import Stepping
from companion.procedure.proving.telling import rule_in_words, way_in_words

MOST_STATES = 2_000_000

__all__ = ["MOST_STATES", "Proof", "Unproved", "prove", "rule_in_words"]


@dataclass(frozen=True)
class Unproved:
    """A rule that does not hold, and the lines of the shortest way on which it is broken; none where nothing is."""

    fault: Fault
    way: tuple[str, ...] = ()


@dataclass(frozen=True)
class Proof:
    """What came of it: all rules hold where `unproved` is empty. `states` counts what was looked at."""

    states: int
    unproved: tuple[Unproved, ...]


def prove(procedure: Procedure, most: int = MOST_STATES, progress: Callable[[int], None] | None = None) -> Proof:
    """Try every rule of `always`. `progress` is told now and then how many states were looked at."""
    machine = Machine(procedure)
    stepping = Stepping(machine, procedure.always)
    states = 0
    unproved: list[Unproved] = []
    for group in _groups(procedure):
        rules = [procedure.always[number] for number in group]
        found = Explorer(stepping, rules, most - states, progress and partial(_further, progress, states)).explore()
        states += found.states
        if not found.whole:
            return Proof(states, (*unproved, Unproved(Fault(("always",), _too_many(procedure, most)))))
        for place, number in enumerate(group):
            rule, path = procedure.always[number], ("always", number)
            if place in found.broken:
                fault = Fault(path, f"it does not hold that {rule_in_words(rule)}; it is broken like this")
                unproved.append(Unproved(fault, tuple(way_in_words(machine, rule, found.broken[place]))))
            elif never := _never_tried(rule, found):
                fault = Fault(path, f"{never}, so the rule says nothing; accepted: what can happen")
                unproved.append(Unproved(fault))
    return Proof(states, tuple(sorted(unproved, key=lambda each: each.fault.path[1:])))


def _further(progress: Callable[[int], None], before: int, more: int) -> None:
    progress(before + more)


def _groups(procedure: Procedure) -> list[list[int]]:
    """Which rules are tried together: one that remembers what was done goes alone, since that multiplies."""
    remembering = NeverEndsWithout | NeverLeftWithout
    alone = [number for number, rule in enumerate(procedure.always) if isinstance(rule, remembering)]
    together = [number for number in range(len(procedure.always)) if number not in alone]
    return [group for group in (together, *([number] for number in alone)) if group]


def _never_tried(rule: Rule, found: Explored) -> str:
    match rule:
        case NeverWithout():
            deed = rule.step
        case NeverEndsWithout():
            deed = rule.after
        case NeverLeftWithout() | AlwaysOpen():
            return "" if rule.branch in found.entered else f"no session ever takes the branch `{rule.branch}`"
    if found.confirmed & set(deed):
        return ""
    return " and ".join(f"`{name}`" for name in deed) + " can never be confirmed"


def _too_many(procedure: Procedure, most: int) -> str:
    free = [f"`{branch.id}`" for branch in procedure.branches if branch.heard and not branch.at]
    bound = f"give `at` to branches that are heard everywhere ({', '.join(free)})" if free else "take a condition out"
    return f"the rules are not proved, since there are more than {most:,} states; {bound}, or split the procedure"

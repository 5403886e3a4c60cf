"""The order that matters: a partial one, from each step's `after`."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from companion.procedure.model import Procedure

Graph = Mapping[str, Mapping[str, str]]
"""Step id -> the steps that must come before it, each with the reason why."""


@dataclass(frozen=True)
class Violation:
    """`step` was done although `needed` had not been; `late` tells one done afterwards from one never done."""

    step: str
    needed: str
    because: str
    late: bool


def must_precede(procedure: Procedure) -> Graph:
    """What each step names in its `after`. Every step has an entry; the order is that of the file."""
    return {step.id: {after.step: after.because for after in step.after} for step in procedure.all_steps()}


def all_before(graph: Graph, step: str) -> frozenset[str]:
    """Everything that must come before `step`, through any number of links; itself only when it lies on a cycle."""
    found: set[str] = set()
    waiting = list(graph.get(step, {}))
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting.extend(graph.get(name, {}))
    return frozenset(found)


def cycles(graph: Graph) -> list[tuple[str, ...]]:
    """Chains of steps that each must come before themselves, one for each knot; empty when an order exists.

    Each chain reads in the order "this, before this, before this", beginning with its least name.
    """
    knots: dict[frozenset[str], str] = {}
    for name in graph:
        before = all_before(graph, name)
        if name in before:
            knot = frozenset(other for other in before if name in all_before(graph, other))
            knots.setdefault(knot, name)
    return [_chain(graph, knot) for knot in knots]


def _chain(graph: Graph, knot: frozenset[str]) -> tuple[str, ...]:
    """The shortest way round from the least name of a knot back to itself."""
    start = min(knot)
    came_from: dict[str, str] = {}
    waiting = [start]
    for name in waiting:
        for needed in graph.get(name, {}):
            if needed == start:
                way = [name]
                while way[-1] != start:
                    way.append(came_from[way[-1]])
                return (start, *(step for step in way if step != start))
            if needed in knot and needed not in came_from:
                came_from[needed] = name
                waiting.append(needed)
    return (start,)


def violations(procedure: Procedure, sequence: Sequence[str]) -> list[Violation]:
    """Where steps done in `sequence` (ids, in the order done) break the order, in the order they were done.

    The first time a step is done is judged; doing a needed step again later excuses nothing. A needed step that
    belongs to the main steps and was never done is reported once for each step that names it.
    Raises KeyError for an id that is no step.
    """
    graph = must_precede(procedure)
    first = _first_places(sequence)
    broken = []
    for step, place in first.items():
        for needed, because in graph[step].items():
            when = first.get(needed)
            if when is None or when > place:
                broken.append(Violation(step, needed, because, late=when is not None))
    return broken


def _first_places(sequence: Iterable[str]) -> dict[str, int]:
    places: dict[str, int] = {}
    for place, step in enumerate(sequence):
        places.setdefault(step, place)
    return places

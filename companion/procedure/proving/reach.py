"""Which lists of steps may come up from where, so that what only other lists know need not be told apart."""

from collections.abc import Iterator, Mapping

from pydantic import BaseModel

from companion.machine import moves
from companion.procedure.model import Procedure
from companion.procedure.steps import Step

Place = str | None
"""A list of steps: the name of a branch, or None for the main steps."""

_NAMES_APART = {"id", "title", "say", "short", "caution", "reason", "hint", "sources", "ideas", "after", "kind"}


class Reach:
    """Of one procedure. A branch may come up where it is heard, where a step names it, or in place of one that may."""

    def __init__(self, procedure: Procedure) -> None:
        places = (None, *(branch.id for branch in procedure.branches))
        steps = {place: moves.steps_of(procedure, place) for place in places}
        self.home: Mapping[str, Place] = {step.id: place for place in places for step in steps[place]}
        """The list each step stands in."""
        self.named: Mapping[str, frozenset[str]] = {step.id: frozenset(_named(step)) for step in procedure.all_steps()}
        """Every text in a step that may be the name of something else, by the step's id."""
        self._next: dict[Place, frozenset[str]] = {}
        for place in places:
            ids = {step.id for step in steps[place]}
            names = frozenset().union(*(self.named[name] for name in ids))
            self._next[place] = frozenset(
                branch.id
                for branch in procedure.branches
                if branch.id in names or (branch.heard and (not branch.at or not ids.isdisjoint(branch.at)))
            )
        instead = {branch.id: branch.then for branch in procedure.branches if branch.then is not None}
        for place in places:
            while more := {instead[name] for name in self._next[place] if name in instead} - self._next[place]:
                self._next[place] |= more
        self._found: dict[tuple[Place, frozenset[Place]], tuple[frozenset[Place], frozenset[Place]]] = {}

    def inside(self, place: Place, around: frozenset[Place]) -> frozenset[Place]:
        """`place` and the lists that may come up over it before it is left; `around` are the lists it lies over."""
        return self._both(place, around)[0]

    def back(self, place: Place, around: frozenset[Place]) -> frozenset[Place]:
        """Those of `around` that may be begun again from there, by which `place` is left."""
        return self._both(place, around)[1]

    def _both(self, place: Place, around: frozenset[Place]) -> tuple[frozenset[Place], frozenset[Place]]:
        key = (place, around)
        if key not in self._found:
            inside, back, ahead = {place}, set[Place](), [place]
            while ahead:
                for branch in self._next[ahead.pop()]:
                    if branch in around:
                        back.add(branch)
                    elif branch not in inside:
                        inside.add(branch)
                        ahead.append(branch)
            self._found[key] = frozenset(inside), frozenset(back)
        return self._found[key]


def _named(step: Step) -> Iterator[str]:
    for name in type(step).model_fields:
        if name not in _NAMES_APART:
            yield from _texts(getattr(step, name))


def _texts(part: object) -> Iterator[str]:
    if isinstance(part, str):
        yield part
    elif isinstance(part, BaseModel):
        for name in type(part).model_fields:
            yield from _texts(getattr(part, name))
    elif isinstance(part, Mapping):
        for each in part.values():
            yield from _texts(each)
    elif isinstance(part, tuple):
        for each in part:
            yield from _texts(each)

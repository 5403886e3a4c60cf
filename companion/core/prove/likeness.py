"""Which states are alike: they ask the same, take the same, and lead on to states that are alike.

What a key keeps of a state: the step and the branches open around it, its phase and what is pending there; values that
some other step names; seals; which timers have run out, and in which order the others will; for each step that a wait
with a longest time counts `since`, whether that time is over, and which quarter of it is running if not; the branches
that have come back, as far as the step names them; which of the steps that a rule needs stand confirmed. What it leaves
out is only said or written: replies in other words, misses and silences, moments that no timer hangs on.
Whatever else a state may hold is kept as it is, so that a machine that learns something new is still explored truly, if
longer.

Moments are the one thing that is coarser than the machine: of two sessions alike but for some seconds, the one that
came with fewer moves is gone on with. A rule that is broken only where two times nearly meet may be missed.
"""

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import fields, replace

from pydantic import BaseModel

from companion.core import moves
from companion.core.always import Deed
from companion.core.machine import Machine
from companion.core.procedure import StepBase, WaitStep
from companion.core.prove.watching import standing
from companion.core.state import Frame, Here, State


def _but(holder: type[State | Here | Frame], *apart: str) -> tuple[str, ...]:
    return tuple(each.name for each in fields(holder) if each.name not in apart)


_SAID_ONLY = ("performer", "today", "mode", "notes")
_OF_STATE = _but(State, *_SAID_ONLY, "at_ms", "frames", "here", "values", "done", "fired")
_OF_HERE = _but(Here, "since_ms", "pending_phrase", "misses", "silences")
_OF_FRAME = _but(Frame, "back_from")
_PARTS = 4
_NAMES_APART = {"id", "title", "say", "short", "caution", "reason", "hint", "sources", "ideas", "after", "kind"}


class Likeness:
    """Makes keys for the states of one machine; `watched` are steps, and what rules need before them.

    Inside a branch it does not matter which main steps stand, unless a rule needs them for a step of a branch: the
    branch confirms none, and takes none back.
    """

    def __init__(self, machine: Machine, watched: Sequence[tuple[Deed, frozenset[str]]]) -> None:
        self._machine = machine
        mains = {step.id for step in machine.procedure.steps}
        self._watched = frozenset(name for _, needs in watched for name in needs)
        self._watched_inside = frozenset(
            name for steps, needs in watched for name in needs if name not in mains or not mains.issuperset(steps)
        )
        steps = {step.id: step for step in machine.procedure.all_steps()}
        branches = {branch.id for branch in machine.procedure.branches}
        named = {name: frozenset(_named(step)) for name, step in steps.items()}
        self._values = frozenset(
            other for name, found in named.items() for other in found if other in steps and other != name
        )
        self._branches = {name: found & branches for name, found in named.items()}
        self._longest = {
            step.since: max(step.at_least, step.at_most) * 1000
            for step in steps.values()
            if isinstance(step, WaitStep) and step.since is not None and step.at_most is not None
        }

    def key(self, state: State) -> Hashable:
        """Equal for states that are alike, wherever the branch they stand in was taken."""
        frame = state.frames[-1] if state.frames else None
        return (
            frame and self.place(frame),
            frozenset(other.branch for other in state.frames[:-1]),
            _kept(state.here, _OF_HERE),
            _kept(state, _OF_STATE),
            tuple(sorted((name, value.text) for name, value in state.values.items() if name in self._values)),
            tuple(self._timers(state)),
            tuple(self._ages(state)),
            standing(state) & (self._watched if len(state.frames) < 2 else self._watched_inside),
        )

    def place(self, frame: Frame) -> Hashable:
        """A place in a list of steps, with what the step there knows of branches."""
        step = moves.step_at(self._machine.procedure, frame)
        named = self._branches[step.id]
        return _kept(frame, _OF_FRAME), named.intersection(frame.back_from)

    def _timers(self, state: State) -> Iterator[Hashable]:
        """Timers that have run out, and after them the others in the order in which they will."""
        if state.frames:
            asked = replace(state, status="running", fired=frozenset())
            for due, name in sorted((max(due, state.at_ms), name) for name, due in self._machine.timers(asked).items()):
                yield name, due > state.at_ms

    def _ages(self, state: State) -> Iterator[Hashable]:
        for name, most in self._longest.items():
            at = state.done_at(name)
            if at is not None:
                age = state.at_ms - at
                yield name, age > most, min(age, most) * _PARTS // most


def _kept(holder: State | Here | Frame, names: tuple[str, ...]) -> Hashable:
    return tuple([_hashable(getattr(holder, name)) for name in names])


def _hashable(value: object) -> Hashable:
    if isinstance(value, str | int | tuple | frozenset | None):
        return value
    if isinstance(value, dict):
        return tuple(sorted((name, _hashable(each)) for name, each in value.items()))
    return str(value)


def _named(step: StepBase) -> Iterator[str]:
    """Every text in a step that may be the name of something else."""
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

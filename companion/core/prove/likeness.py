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

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
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

    Inside a branch, what belongs to the steps of the lists around it is left out, unless some step that may come up in
    the branch reads it: the branch confirms none of them, takes none back, and gives them no value.
    """

    def __init__(self, machine: Machine, watched: Sequence[tuple[Deed, frozenset[str]]]) -> None:
        self._machine = machine
        procedure = machine.procedure
        steps = {step.id: step for step in procedure.all_steps()}
        self.home: Mapping[str, str | None] = {
            step.id: branch
            for branch in (None, *(branch.id for branch in procedure.branches))
            for step in moves.steps_of(procedure, branch)
        }
        """The list each step stands in: a branch, or None for the main steps."""
        named = {name: frozenset(_named(step)) for name, step in steps.items()}
        self._branches = {name: found & {branch.id for branch in procedure.branches} for name, found in named.items()}
        self._values = _readers((other, name) for name, found in named.items() for other in found if other in steps)
        self._needs = _readers((need, name) for deed, needs in watched for need in needs for name in deed)
        waits = [step for step in steps.values() if isinstance(step, WaitStep) and step.since and step.at_most]
        self._longest = {wait.since or "": max(wait.at_least, wait.at_most or 0) * 1000 for wait in waits}
        self._ages_of = _readers((wait.since or "", wait.id) for wait in waits)

    def key(self, state: State) -> Hashable:
        """Equal for states that are alike, wherever the branch they stand in was taken."""
        return _kept(state.here, _OF_HERE), _kept(state, _OF_STATE), self.lasting(state, state.frames)

    def lasting(self, state: State, frames: Sequence[Frame]) -> Hashable:
        """What of a key lasts when another branch is taken, for a state with those frames."""
        around = frozenset(frame.branch for frame in frames[:-1])
        values = (
            (name, state.values[name].text) for name in sorted(self._read(self._values, around)) if name in state.values
        )
        return (
            self.place(frames[-1]) if frames else None,
            around,
            tuple(values),
            tuple(self._timers(state, around) if frames else ()),
            tuple(self._ages(state, around)),
            standing(state).intersection(self._read(self._needs, around)),
        )

    def place(self, frame: Frame) -> Hashable:
        """A place in a list of steps, with what the step there knows of branches."""
        step = moves.step_at(self._machine.procedure, frame)
        named = self._branches[step.id]
        return _kept(frame, _OF_FRAME), named.intersection(frame.back_from)

    def _read(self, readers: Mapping[str, frozenset[str]], around: frozenset[str | None]) -> list[str]:
        """The names that matter inside: of steps that may come up there, or read by one that may."""
        home = self.home
        return [
            name
            for name, by in readers.items()
            if home[name] not in around or any(home[reader] not in around for reader in by)
        ]

    def _timers(self, state: State, around: frozenset[str | None]) -> Iterator[Hashable]:
        """Timers that have run out, and after them the others in the order in which they will."""
        asked = replace(state, status="running", fired=frozenset())
        for due, name in sorted((max(due, state.at_ms), name) for name, due in self._machine.timers(asked).items()):
            if self.home[name.split("/")[0]] not in around:
                yield name, due > state.at_ms

    def _ages(self, state: State, around: frozenset[str | None]) -> Iterator[Hashable]:
        for name in self._read(self._ages_of, around):
            at, most = state.done_at(name), self._longest[name]
            if at is not None:
                age = state.at_ms - at
                yield name, age > most, min(age, most) * _PARTS // most


def _readers(pairs: Iterable[tuple[str, str]]) -> Mapping[str, frozenset[str]]:
    """Names, each with the other steps that read it."""
    found: dict[str, set[str]] = {}
    for name, reader in pairs:
        if reader != name:
            found.setdefault(name, set()).add(reader)
    return {name: frozenset(by) for name, by in found.items()}


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

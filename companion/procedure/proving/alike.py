"""Which states are alike: they ask the same, take the same, and lead on to states that are alike.

What a key keeps of a state: the step and the branches open around it, its phase and what is pending there; values that
some other step names; seals; which timers have run out, and in which order the others will; for each step that a wait
with a longest time counts `since`, whether that time is over, and which quarter of it is running if not; the branches
that have come back, as far as the step names them; which of the steps that a rule needs stand confirmed. What it leaves
out is only said or written: replies in other words, misses and silences, moments that no timer hangs on, the number of
a round where there is no last one, and in a break how far the step had come that is then asked afresh.
Whatever else a state may hold is kept as it is, so that a machine that learns something new is still explored truly, if
longer.

Moments are the one thing that is coarser than the machine: of two sessions alike but for some seconds, the one that
came with fewer moves is gone on with. A rule that is broken only where two times nearly meet may be missed.
"""

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import fields

from companion.machine import moves
from companion.machine.machine import Machine
from companion.procedure.always import AlwaysOpen, NeverWithout, Rule
from companion.procedure.kinds.wait import WaitStep
from companion.procedure.proving.reach import Place, Reach
from companion.procedure.proving.watching import standing
from companion.procedure.steps import Step
from companion.session.state import Frame, Here, State, Status, replace
from companion.session.timers import For, Timer


def _but(holder: type[State | Here | Frame], *apart: str) -> tuple[str, ...]:
    return tuple(each.name for each in fields(holder) if each.name not in apart)


_SAID_ONLY = ("performer", "today", "mode", "notes")
_OF_STATE = _but(State, *_SAID_ONLY, "at_ms", "frames", "here", "values", "seals", "done", "fired", "entered")
_OF_HERE = _but(Here, "since_ms", "pending_phrase", "misses", "silences")
_OF_FRAME = _but(Frame, "back_from")
_PARTS = 4
_NONE: frozenset[Timer] = frozenset()


class Likeness:
    """Makes keys for the states of one machine, under those rules.

    Inside a branch, what belongs to the lists that cannot come up there is left out, unless some step that may come up
    reads it: the branch confirms none of their steps, takes none back, and gives them no value. Of the lists that it
    lies over only those are told apart that may be begun again from inside, or that a rule names.
    """

    def __init__(self, machine: Machine, rules: Sequence[Rule]) -> None:
        self._machine = machine
        procedure = machine.procedure
        self.reach = reach = Reach(procedure)
        steps = {step.id: step for step in procedure.all_steps()}
        known = {name: _all_known(name, reach.named, steps.keys()) for name in steps}
        self._branches = {
            name: found & {branch.id for branch in procedure.branches} for name, found in reach.named.items()
        }
        self._values = _readers((other, name) for name, found in known.items() for other in found)
        needs = {name for rule in rules if not isinstance(rule, AlwaysOpen) for deed in rule.needs for name in deed}
        self._hang_on = frozenset(
            other
            for name in needs
            if (when := steps[name].when) is not None and when.of in steps
            for other in (when.of, *known[when.of])
        )
        """What decides whether a deed that a rule asks for is due: a rule may be broken anywhere."""
        self._needs = _readers(
            (need, name)
            for rule in rules
            if isinstance(rule, NeverWithout)
            for deed in rule.needs
            for need in deed
            for name in rule.step
        )
        self._ruled = frozenset(rule.branch for rule in rules if isinstance(rule, AlwaysOpen))
        waits = [step for step in steps.values() if isinstance(step, WaitStep) and step.since and step.at_most]
        self._longest = {wait.since or "": max(wait.at_least, wait.at_most or 0) * 1000 for wait in waits}
        self._ages_of = _readers((wait.since or "", wait.id) for wait in waits)
        self._matter: dict[frozenset[Place], tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = {}

    def key(self, state: State) -> Hashable:
        """Equal for states that are alike, wherever the branch they stand in was taken."""
        here = state.here
        if self._asked_afresh(state):
            here = Here()
        elif self._endless(self._machine.current(state)):
            here = replace(here, item=0)
        return _kept(here, _OF_HERE), _kept(state, _OF_STATE), self.lasting(state, state.frames)

    def lasting(self, state: State, frames: Sequence[Frame]) -> Hashable:
        """What of a key lasts when another branch is taken, for a state with those frames."""
        if not frames:
            return None
        inside, around = self.inside(frames), _around(frames)
        values, needs, ages = self._mattering(inside)
        return (
            self.place(frames[-1]),
            self.reach.back(frames[-1].branch, around) | (around & self._ruled),
            tuple([(name, state.values[name].text) for name in values if name in state.values]),
            tuple([(name, due > state.at_ms) for due, name in self._timers(state, inside)]),
            tuple(self._ages(state, ages)),
            standing(state).intersection(needs) if needs else needs,
            tuple(sorted((name, times) for name, times in state.entered.items() if name in inside)),
            tuple(
                sorted((name, seal if self.reach.home[name] in inside else "") for name, seal in state.seals.items())
            ),
        )

    def inside(self, frames: Sequence[Frame]) -> frozenset[Place]:
        """The lists of steps that may come up before the innermost of those frames is left."""
        return self.reach.inside(frames[-1].branch, _around(frames))

    def belongs(self, timer: Timer, inside: frozenset[Place]) -> bool:
        """Whether a timer is one of a step in those lists."""
        return self.reach.home[timer.step] in inside

    def next_due(self, state: State) -> int | None:
        """When the next timer that matters here runs out, in ms of session time; None where none runs."""
        if not state.frames:
            return None
        inside = self.inside(state.frames)
        return min(
            (due for name, due in self._machine.timers(state).items() if self.belongs(name, inside)), default=None
        )

    def place(self, frame: Frame) -> Hashable:
        """A place in a list of steps, with what the step there knows of branches."""
        step = moves.step_at(self._machine.procedure, frame)
        named = self._branches[step.id]
        return _kept(frame, _OF_FRAME), named.intersection(frame.back_from)

    def _mattering(self, inside: frozenset[Place]) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
        """The steps whose values, whose standing, and since when they stand, matter inside."""
        if inside not in self._matter:
            values = self._hang_on.union(self._read(self._values, inside))
            self._matter[inside] = (
                tuple(sorted(values)),
                self._read(self._needs, inside),
                self._read(self._ages_of, inside),
            )
        return self._matter[inside]

    def _read(self, readers: Mapping[str, frozenset[str]], inside: frozenset[Place]) -> tuple[str, ...]:
        """The names that matter inside: of steps that may come up there, or read by one that may."""
        home = self.reach.home
        return tuple(
            name for name, by in readers.items() if home[name] in inside or any(home[reader] in inside for reader in by)
        )

    def _timers(self, state: State, inside: frozenset[Place]) -> list[tuple[int, Timer]]:
        """Timers that have run out, and after them the others in the order in which they will."""
        status: Status = "held" if self._asked_afresh(state) else "running"
        asked = state if state.status == status and not state.fired else replace(state, status=status, fired=_NONE)
        return sorted(
            (max(due, state.at_ms), timer._replace(number=0) if self._counted_on(timer) else timer)
            for timer, due in self._machine.timers(asked).items()
            if self.belongs(timer, inside)
        )

    def _counted_on(self, timer: Timer) -> bool:
        return timer.what is For.ROUND and self._endless(self._machine.procedure.step(timer.step))

    def _asked_afresh(self, state: State) -> bool:
        """Whether the step that is up will be asked from its beginning, whatever was said there: there is a break."""
        if state.status == "running" or not state.frames:
            return False
        step = self._machine.current(state)
        return step is None or not step.runs_on

    def _endless(self, step: Step | None) -> bool:
        """Whether a step has rounds without a last one: which of them it is makes no difference."""
        return step is not None and step.rounds is not None and step.rounds.most is None

    def _ages(self, state: State, names: Iterable[str]) -> Iterator[Hashable]:
        for name in names:
            at, most = state.done_at(name), self._longest[name]
            if at is not None:
                age = state.at_ms - at
                yield name, age > most, min(age, most) * _PARTS // most


def _around(frames: Sequence[Frame]) -> frozenset[Place]:
    return frozenset(frame.branch for frame in frames[:-1])


def _all_known(name: str, named: Mapping[str, frozenset[str]], steps: Iterable[str]) -> frozenset[str]:
    """The steps that a step names, and those that they name, and so on."""
    found, ahead = set[str](), [name]
    while ahead:
        more = named[ahead.pop()].intersection(steps) - found - {name}
        found |= more
        ahead.extend(more)
    return frozenset(found)


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

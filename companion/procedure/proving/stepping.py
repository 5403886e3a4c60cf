"""What each move leads to, worked out once for all rules and for whatever they remember.

A walk begins at the first state, or where a branch is entered; of the states in one walk that are alike (`likeness`)
the first stands for all.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from companion.machine.machine import Machine
from companion.procedure.always import Rule
from companion.procedure.proving.alike import Likeness
from companion.procedure.proving.moments import Moments, Move, Scene
from companion.procedure.proving.under import over
from companion.session.state import State, replace


@dataclass(frozen=True)
class Taken:
    """What a move does: each change that a rule may look at, from one state to the next, and where it ends."""

    changes: tuple[tuple[State, State], ...]
    scene: Scene


class Stepping:
    """The moves of one machine, each made once."""

    def __init__(self, machine: Machine, rules: Sequence[Rule]) -> None:
        self.machine = machine
        self.likeness = Likeness(machine, rules)
        self._moments = Moments(machine)
        self._first = self._moments.first()
        self._moves: dict[Scene, tuple[Move, ...]] = {}
        self._taken: dict[tuple[Scene, Move], Taken] = {}
        self._keys: dict[Scene, Hashable] = {}
        self._lasting: dict[tuple[Scene, int], Hashable] = {}
        self._entries: dict[Hashable, Scene] = {}
        self._cut: dict[tuple[Scene, int], Scene] = {}
        self._alike: dict[tuple[Scene, Hashable], Scene] = {}
        self._over: dict[tuple[Scene, Scene, Scene, Scene], Scene] = {}

    def first(self) -> Scene:
        """A session that has just begun."""
        return self._first

    def moves(self, scene: Scene) -> tuple[Move, ...]:
        """Everything that may be said or happen there."""
        if scene not in self._moves:
            self._moves[scene] = tuple(self._moments.moves(scene, self.likeness.next_due(scene.state)))
        return self._moves[scene]

    def take(self, scene: Scene, move: Move) -> Taken:
        """What a move does there."""
        key = (scene, move)
        if key not in self._taken:
            states, after = self._moments.take(scene, move)
            befores = (scene.state, *states[:-1])
            changes = tuple(
                (old, new)
                for old, new in zip(befores, states, strict=True)
                if new.done is not old.done or new.frames is not old.frames or new.ended
            )
            self._taken[key] = Taken(changes, after)
        return self._taken[key]

    def anew(self, scene: Scene, move: Move) -> Scene:
        """Where a move ends from another state that is alike; time passes up to what runs out there."""
        if move.kind == "time":
            move = next((each for each in self.moves(scene) if each.kind == "time"), move)
        return self.take(scene, move).scene

    def key(self, scene: Scene) -> Hashable:
        """Equal for scenes that are alike."""
        if scene not in self._keys:
            self._keys[scene] = self.likeness.key(scene.state)
        return self._keys[scene]

    def lasting(self, scene: Scene, depth: int) -> Hashable:
        """What lasts of a scene in its lowest frames, up to that many, while a branch over them is walked."""
        key = (scene, depth)
        if key not in self._lasting:
            self._lasting[key] = self.likeness.lasting(scene.state, scene.state.frames[:depth])
        return self._lasting[key]

    def alike(self, begin: Scene, scene: Scene) -> Scene:
        """The first scene like this one in the walk that begins there."""
        return self._alike.setdefault((begin, self.key(scene)), scene)

    def cut(self, scene: Scene, depth: int) -> Scene:
        """A scene without the frames above `depth`."""
        if len(scene.state.frames) == depth + 1:
            return scene
        key = (scene, depth)
        if key not in self._cut:
            self._cut[key] = replace(scene, state=replace(scene.state, frames=scene.state.frames[: depth + 1]))
        return self._cut[key]

    def entry(self, scene: Scene, depth: int) -> Scene:
        """Where the walk of the branch at `depth` begins: the first scene like this one in which it was entered."""
        cut = self.cut(scene, depth)
        return self._entries.setdefault(self.key(cut), cut)

    def over(self, caller: Scene, entered: Scene, begin: Scene, inner: Scene) -> Scene:
        """`inner`, of the walk that begins at `begin`, over another caller, who came to `entered` on entering it."""
        key = (caller, entered, begin, inner)
        if key not in self._over:
            depth = len(begin.state.frames) - 1
            below = caller.state.frames
            state = over(self.likeness, below, entered.state, inner.state, depth, begin.state.at_ms)
            kept = {name for name, seal in state.seals.items() if seal == entered.state.seals.get(name)}
            theirs = {name: figure for name, figure in entered.figures.items() if name in kept}
            self._over[key] = Scene(state, {**inner.figures, **theirs})
        return self._over[key]

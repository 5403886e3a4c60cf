"""Every state that a session can come to, nearest first, and whether the rules hold on every way there.

The machine itself is stepped, so what is proved is what runs. Two things keep it small. States that are alike
(`likeness`) are looked at once. And a branch is walked once for each state it is entered in, whoever took it: each way
out of it is then taken anew from every place it was entered from, by putting that place under the walked states and
stepping the machine. What a branch can see of that place is part of the key (`likeness`).

What is not covered: notes that are said at a step, words the ear mistakes for others, a record resumed by another
version of the procedure, and the program started again past a branch's first step while a figure of the steps around it
is under seal.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush

from companion.procedure.always import AlwaysOpen, Rule
from companion.procedure.proving.moments import Move, Scene
from companion.procedure.proving.stepping import Stepping
from companion.procedure.proving.watching import Broken, Memory, watch
from companion.session.state import State

Progress = Callable[[int], None]
_EVERY = 2000


@dataclass(frozen=True)
class Said:
    """One move on the way to where a rule is broken, and the state it was made in."""

    state: State
    move: Move


@dataclass(frozen=True)
class Counterexample:
    """The shortest way on which a rule is broken, what was missing, and the state it ends in."""

    way: tuple[Said, ...]
    broken: Broken
    end: State


@dataclass(frozen=True)
class Explored:
    """What was found. `broken` goes by the place of a rule in the file; `confirmed` are the steps ever confirmed and
    `entered` the branches ever entered. `whole` is False where there were more states than allowed."""

    states: int
    broken: dict[int, Counterexample]
    confirmed: frozenset[str]
    entered: frozenset[str]
    whole: bool


@dataclass(eq=False)
class _Context:
    """The main steps, or one branch as entered in one state, with what the rules remembered then."""

    begin: Scene
    callers: list[tuple[_Node, Move | None, Scene]] = field(default_factory=list)
    """From where it was entered, by which move, and the scene just after it."""
    known: set[Hashable] = field(default_factory=set)
    exits: list[tuple[_Node, Move]] = field(default_factory=list)
    met: set[Hashable] = field(default_factory=set)

    @property
    def depth(self) -> int:
        """How many frames lie below."""
        return max(0, len(self.begin.state.frames) - 1)


@dataclass(eq=False)
class _Node:
    """A state in a context, with what the rules remember. `distance` counts the moves since the context was entered.

    It came `by` moves from `before`: with `inside`, by entering a branch, going on to `inside` there, and then `by`.
    """

    scene: Scene
    memory: tuple[Memory, ...]
    context: _Context
    distance: int
    before: _Node | None = None
    by: tuple[Move | None, ...] = ()
    inside: _Node | None = None

    def own_way(self) -> list[Move]:
        """The moves since the context was entered."""
        parts: list[list[Move | None]] = []
        node = self
        while node.before is not None:
            first, *rest = node.by
            parts.append([first, *(node.inside.own_way() if node.inside is not None else ()), *rest])
            node = node.before
        return [move for part in reversed(parts) for move in part if move is not None]

    def whole_way(self) -> list[Move]:
        """All moves since the session began, by the nearest place each branch was entered from."""
        own = self.own_way()
        if not self.context.callers:
            return own
        caller, call, _ = self.context.callers[0]
        return [*caller.whole_way(), *([] if call is None else [call]), *own]

    @property
    def whole_distance(self) -> int:
        if not self.context.callers:
            return self.distance
        return self.context.callers[0][0].whole_distance + 1 + self.distance


class Explorer:
    """One exploration of one machine under its rules."""

    def __init__(self, stepping: Stepping, rules: Sequence[Rule], most: int, progress: Progress | None = None) -> None:
        self._stepping = stepping
        self._machine = stepping.machine
        self._rules = tuple(rules)
        self._most = most
        self._progress = progress
        self._queue: list[tuple[int, int, _Node]] = []
        self._count = 0
        self._contexts: dict[Hashable, _Context] = {}
        self._broken: dict[int, tuple[int, _Node, Move | None, Broken]] = {}
        self._confirmed: set[str] = set()
        self._entered: set[str] = set()

    def explore(self) -> Explored:
        """Everything, or as much as is allowed."""
        first = self._stepping.first()
        self._meet(_Node(first, tuple(None for _ in self._rules), _Context(first), 0))
        while self._queue and self._count <= self._most:
            _, _, node = heappop(self._queue)
            self._look(node)
            for move in self._stepping.moves(node.scene):
                self._go(node, move)
        broken = {number: self._told(node, move, found) for number, (_, node, move, found) in self._broken.items()}
        whole = self._count <= self._most
        return Explored(self._count, broken, frozenset(self._confirmed), frozenset(self._entered), whole)

    # One node

    def _meet(self, node: _Node) -> None:
        node.scene = self._stepping.alike(node.context.begin, node.scene)
        key = (node.scene, node.memory)
        if key in node.context.known:
            return
        node.context.known.add(key)
        self._count += 1
        if self._progress is not None and self._count % _EVERY == 0:
            self._progress(self._count)
        heappush(self._queue, (node.whole_distance, self._count, node))

    def _look(self, node: _Node) -> None:
        """The rules that speak of a moment rather than of what happens in it."""
        state = node.scene.state
        wanted = [(number, rule) for number, rule in enumerate(self._rules) if isinstance(rule, AlwaysOpen)]
        if not wanted or not state.frames or self._machine.to_open(state) is not None:
            return
        heard = {meaning.arg for meaning in self._machine.allowed(state).values() if meaning.kind == "branch"}
        inside = {frame.branch for frame in state.frames}
        for number, rule in wanted:
            if rule.branch not in heard | inside:
                self._note(number, node.whole_distance, node, None, Broken(()))

    # One move

    def _go(self, node: _Node, move: Move) -> None:
        scene, memory = self._taken(node, move)
        old, new = node.scene.state, scene.state
        if new.ended:
            return
        depth = node.context.depth
        lower, own = new.frames[:depth], len(new.frames) - depth
        if lower != old.frames[:depth] or own < 1:
            self._leave(node, move)
        elif own == 1:
            self._meet(_Node(scene, memory, node.context, node.distance + 1, node, (move,)))
        else:
            self._enter(node, move, scene, memory)

    def _taken(self, node: _Node, move: Move) -> tuple[Scene, tuple[Memory, ...]]:
        taken, memory = self._stepping.take(node.scene, move), node.memory
        for old, new in taken.changes:
            kept = []
            for number, rule in enumerate(self._rules):
                remembered, broken = watch(self._machine.procedure, rule, memory[number], old, new)
                kept.append(remembered)
                if broken is not None:
                    self._note(number, node.whole_distance + 1, node, move, broken)
            memory = tuple(kept)
            self._confirmed |= {entry.step for entry in new.done[-1:]}
        return taken.scene, memory

    def _enter(self, caller: _Node, call: Move | None, scene: Scene, memory: tuple[Memory, ...]) -> None:
        """A branch is open over `caller`: walked now if it is new in this state, its known ways out taken if not."""
        frames = scene.state.frames
        for depth in range(len(caller.scene.state.frames), len(frames)):
            branch = frames[depth].branch
            assert branch is not None  # the main steps lie lowest
            self._entered.add(branch)
            begin = self._stepping.entry(scene, depth)
            last = depth == len(frames) - 1
            key = (begin, memory, last)
            known = key in self._contexts
            context = self._contexts.setdefault(key, _Context(begin))
            first = _Node(begin, memory, context, 0)
            below = (caller.context, self._stepping.lasting(scene, depth))
            if below not in context.met:
                context.met.add(below)
                context.callers.append((caller, call, scene))
                if last and not known:
                    self._meet(first)
                for inner, way_out in list(context.exits):
                    self._out(caller, call, scene, inner, way_out)
            caller, call = first, None

    def _leave(self, inner: _Node, way_out: Move) -> None:
        """A way out of a branch: taken from every place the branch was entered from."""
        context = inner.context
        context.exits.append((inner, way_out))
        for caller, call, entered in list(context.callers):
            self._out(caller, call, entered, inner, way_out)

    def _out(self, caller: _Node, call: Move | None, entered: Scene, inner: _Node, way_out: Move) -> None:
        below = _Node(
            self._stepping.over(caller.scene, entered, inner.context.begin, inner.scene),
            inner.memory,
            caller.context,
            caller.distance + 1 + inner.distance,
            caller,
            (call, None),
            inner,
        )
        scene, memory = self._taken(below, way_out)
        old, new = caller.scene.state.frames, scene.state.frames
        if scene.state.ended:
            return
        base = caller.context.depth
        if new[:base] != old[:base] or len(new) <= base:
            lasting = self._stepping.lasting(below.scene, len(old))
            key = (self._stepping.key(below.scene), lasting, below.memory, way_out)
            if key not in caller.context.met:
                caller.context.met.add(key)
                self._leave(below, way_out)
            return
        place = self._stepping.cut(scene, base)
        after = _Node(place, memory, caller.context, below.distance + 1, caller, (call, way_out), inner)
        if len(new) == base + 1:
            self._meet(after)
        else:
            self._enter(after, None, scene, memory)  # what lies below was changed, and the branch goes on over it

    # What is found

    def _note(self, number: int, distance: int, node: _Node, move: Move | None, broken: Broken) -> None:
        if number not in self._broken or distance < self._broken[number][0]:
            self._broken[number] = (distance, node, move, broken)

    def _told(self, node: _Node, last: Move | None, broken: Broken) -> Counterexample:
        """The way there, walked once more from the beginning, so that nothing is claimed that does not happen."""
        scene = self._stepping.first()
        way = []
        for move in (*node.whole_way(), *(() if last is None else (last,))):
            way.append(Said(scene.state, move))
            scene = self._stepping.anew(scene, move)
        return Counterexample(tuple(way), broken, scene.state)

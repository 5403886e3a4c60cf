"""Find how likely each phrase is, looking only where the answer could still change.

A branch's chance can only fall as it grows, so a branch that is already far below the best complete phrase, or below
what the model would freely write, is left alone: nothing on it can be accepted. What is left is scored exactly.
"""

import math
from dataclasses import dataclass, field

import numpy as np

from companion.hearing.scorer.decoder import END, START, TokenTree
from companion.hearing.scorer.lattice import BEGINNING, Lattice, State
from companion.hearing.scorer.weights import DecoderWeights, Floats

SLACK = 9.0
"""Nats below free writing at which a branch is left alone."""
LEAD = 4.5
"""Nats below the best complete phrase at which a branch is left alone: a lead beyond this counts no more."""
_LIKELY = 3.0
"""Nats below the best within which a branch is worth scoring ahead of need."""
_TRIFLE = 3.5
"""Nats below its phrase's own sum at which one more written form is left out: it adds at most three hundredths."""
_AT_ONCE = 24
"""Most nodes in one pass: each costs about a twentieth of the pass itself."""
_MOST = 320
"""Most nodes in one decision, so that hundreds of phrases in noise still end."""
_FREE_MORE = 6
"""Tokens that free writing may go on beyond the longest branch looked at."""


@dataclass
class _Node:
    states: tuple[State, ...]
    logp: float
    parent: "_Node | None"
    token: int
    depth: int
    row: int = -1
    likeliest: tuple[int, float] | None = None
    """The next token that free writing would choose, and its chance."""
    children: dict[int, "_Node"] = field(default_factory=dict)
    onward: dict[int, tuple[State, ...]] | None = None

    def tokens(self) -> list[int]:
        node, out = self, []
        while node.parent is not None:
            out.append(node.token)
            node = node.parent
        return out[::-1]


@dataclass(frozen=True)
class Found:
    """A phrase or decoy that came near. Chances are natural logarithms."""

    phrase: str
    chance: float
    """Summed over its written forms."""
    tokens: tuple[int, ...]
    """Its likeliest written form."""


@dataclass(frozen=True)
class Scores:
    """What one utterance amounts to. Chances are natural logarithms."""

    found: tuple[Found, ...]
    """Best first; what is too far off is missing."""
    free: float
    """Chance of what the model would freely write (of as much of it as was needed)."""
    free_tokens: tuple[int, ...]
    free_done: bool
    """Whether the free writing came to its end."""
    looked_at: int
    """Nodes scored."""


class Search:
    """One utterance against one lattice."""

    def __init__(self, weights: DecoderWeights, lattice: Lattice, encoded: Floats) -> None:
        self._lattice = lattice
        self._tree = TokenTree(weights, encoded)
        self._root = _Node(BEGINNING, 0.0, None, START, 0)
        self._waiting: list[_Node] = []
        self._sums: dict[int, float] = {}
        self._best_way: dict[int, tuple[float, _Node]] = {}
        self._deepest = 0
        self._free = self._root
        self._free_logp = 0.0
        self._free_done = False

    def run(self) -> Scores:
        self._score([self._root])
        while True:
            self._write_on()
            batch = self._next_batch()
            if not batch:
                break
            self._score(batch)
        return self._scores()

    def _best(self) -> float:
        return max(self._sums.values(), default=-math.inf)

    def _next_batch(self) -> list[_Node]:
        top = max(self._best(), self._free_logp)
        floor = max(self._free_logp - SLACK, self._best() - LEAD)
        self._waiting.sort(key=lambda node: -node.logp)
        eligible = [node for node in self._waiting if node.logp >= floor and not self._trifling(node)]
        if len(self._tree) >= _MOST:
            eligible = []
        batch: list[_Node] = []
        for eligible_node in eligible:
            if len(batch) >= _AT_ONCE:
                break
            node = eligible_node
            batch.append(node)
            # The likeliest continuation is scored in the same pass: a pass costs more than a few nodes.
            while node.logp >= top - _LIKELY and len(batch) < _AT_ONCE and (longer := self._only_way(node)) is not None:
                longer.logp = node.logp
                node = longer
                batch.append(node)
        if self._free_wanted(bool(eligible)) and self._free.row < 0 and self._free not in batch:
            batch.insert(0, self._free)
        return batch

    def _trifling(self, node: _Node) -> bool:
        """True for one more way to write phrases that are far more likely in another."""
        return all(node.logp < self._sums.get(p, -math.inf) - _TRIFLE for p in self._lattice.owners(node.states))

    def _only_way(self, node: _Node) -> _Node | None:
        """The first onward token of an unscored node: the phrase as it is usually written, then its full stop."""
        onward = self._onward(node)
        if not onward:
            return None
        token, states = next(iter(onward.items()))
        if token not in node.children:
            node.children[token] = _Node(states, -math.inf, node, token, node.depth + 1)
        return node.children[token]

    def _onward(self, node: _Node) -> dict[int, tuple[State, ...]]:
        if node.onward is None:
            node.onward = self._lattice.onward(node.states) if node.states else {}
        return node.onward

    def _free_wanted(self, more_to_look_at: bool) -> bool:
        if self._free_done:
            return False
        best = self._best()
        if best >= self._free_logp:
            return False  # free writing can only fall further: the phrase has won
        if more_to_look_at:
            return True
        return best > self._free_logp - SLACK and self._free.depth <= self._deepest + _FREE_MORE

    def _score(self, batch: list[_Node]) -> None:
        batch.sort(key=lambda node: node.depth)
        for i, node in enumerate(batch):
            node.row = len(self._tree) + i
        after = self._tree.grow([n.token for n in batch], [n.parent.row if n.parent else -1 for n in batch])
        if batch[0] is self._root:
            # That somebody spoke is known: the empty text is left out, and the rest shares its chance.
            after[0] -= math.log(max(1 - math.exp(float(after[0, END])), 1e-6))
            after[0, END] = -math.inf
        done = {id(node) for node in batch}
        self._waiting = [node for node in self._waiting if id(node) not in done]
        for node, row in zip(batch, after, strict=True):
            first = int(row.argmax())
            node.likeliest = (first, float(row[first]))
            self._deepest = max(self._deepest, node.depth if node.states else 0)
            for number in self._lattice.complete(node.states):
                way = node.logp + float(row[END])
                self._sums[number] = float(np.logaddexp(self._sums.get(number, -math.inf), way))
                if way > self._best_way.get(number, (-math.inf, node))[0]:
                    self._best_way[number] = (way, node)
            for token, states in self._onward(node).items():
                child = node.children.get(token)
                logp = node.logp + float(row[token])
                if child is None:
                    child = node.children[token] = _Node(states, logp, node, token, node.depth + 1)
                elif not child.states and states:
                    child.states = states
                child.logp = logp
                if child.row < 0:
                    self._waiting.append(child)

    def _write_on(self) -> None:
        """Follow free writing over everything already scored."""
        while self._free.likeliest is not None and not self._free_done:
            token, chance = self._free.likeliest
            self._free_logp += chance
            if token == END:
                self._free_done = True
                return
            if token not in self._free.children:
                self._free.children[token] = _Node((), self._free_logp, self._free, token, self._free.depth + 1)
            self._free = self._free.children[token]

    def _scores(self) -> Scores:
        ranked = sorted(self._sums.items(), key=lambda item: -item[1])
        return Scores(
            found=tuple(self._found(number, chance) for number, chance in ranked),
            free=self._free_logp,
            free_tokens=tuple(self._free.tokens()),
            free_done=self._free_done,
            looked_at=len(self._tree),
        )

    def _found(self, number: int, chance: float) -> Found:
        return Found(self._lattice.phrases[number], chance, tuple(self._best_way[number][1].tokens()))

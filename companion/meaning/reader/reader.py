"""The reader of talks: for each utterance the steps it may say, told by all that is said around it.

A talk is read in stretches that overlap by half; each utterance counts as read where it lies deepest inside one.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from companion.meaning.likely import LEAST, Likely
from companion.meaning.reader.encoder import Encoder, Floats
from companion.meaning.reader.pieces import Piece, Pieces

STRETCH = 256
"""Pieces that are read at once, as in the teaching."""
LONGEST = 150
"""Pieces of one utterance that are heeded."""
SHARPNESS = 2.0
"""How much the piece that tells a step most outweighs the others of its utterance."""
_KEPT = 64
"""Stretches remembered: a talk that grows by an utterance is read again from near its end only."""


@dataclass(frozen=True)
class Head:
    """What a procedure's steps look like to the encoder: one row each, shape (steps, 768), and what is added."""

    steps: tuple[str, ...]
    weight: Floats
    bias: Floats


@dataclass(frozen=True)
class _Stretch:
    """Utterances from `first` on, and the pieces of each."""

    first: int
    utterances: tuple[tuple[Piece, ...], ...]

    @cached_property
    def length(self) -> int:
        return 1 + sum(len(each) + 1 for each in self.utterances)


@dataclass(frozen=True)
class _Told:
    """Odds of each step in each utterance of a stretch, and the number of the piece that tells it most."""

    odds: Floats
    most: Sequence[Sequence[int]]


class LearntReader:
    """A `TalkReader` of one procedure."""

    def __init__(self, name: str, encoder: Encoder, pieces: Pieces, head: Head) -> None:
        self.name = name
        self._encoder, self._pieces, self._head = encoder, pieces, head
        self._read: dict[tuple[int, ...], _Told] = {}

    def read(self, talk: Sequence[str]) -> list[list[Likely]]:
        """For each utterance the steps whose odds are not below `LEAST`, in the order of the head."""
        cut = [tuple(self._pieces.of(text)[:LONGEST]) or (Piece(self._pieces.unknown, 0),) for text in talk]
        found: list[list[Likely]] = [[] for _ in talk]
        depth = [-1.0] * len(talk)
        for stretch in stretches(cut):
            told = self._tell(stretch)
            begin = 1
            for n, pieces in enumerate(stretch.utterances):
                middle = begin + len(pieces) / 2
                begin += len(pieces) + 1
                inside = min(middle, stretch.length - middle)
                if inside > depth[stretch.first + n]:
                    depth[stretch.first + n] = inside
                    found[stretch.first + n] = self._likely(told, n, pieces)
        return found

    def _likely(self, told: _Told, n: int, pieces: Sequence[Piece]) -> list[Likely]:
        return [
            Likely(step, float(odds), pieces[most].start)
            for step, odds, most in zip(self._head.steps, told.odds[n], told.most[n], strict=True)
            if odds >= LEAST
        ]

    def _tell(self, stretch: _Stretch) -> _Told:
        numbers = [self._pieces.begin]
        for pieces in stretch.utterances:
            numbers += [*(piece.number for piece in pieces), self._pieces.part]
        key = tuple(numbers)
        if key not in self._read:
            while len(self._read) >= _KEPT:
                del self._read[next(iter(self._read))]
            rows = self._encoder.states(numbers) @ self._head.weight.T + self._head.bias
            odds, most, begin = [], [], 1
            for pieces in stretch.utterances:
                own = rows[begin : begin + len(pieces)]
                peak = own.max(axis=0)
                odds.append(peak + np.log(np.exp(SHARPNESS * (own - peak)).sum(axis=0)) / SHARPNESS)
                most.append([int(place) for place in own.argmax(axis=0)])
                begin += len(pieces) + 1
            self._read[key] = _Told(np.stack(odds), most)
        return self._read[key]


def stretches(talk: Sequence[tuple[Piece, ...]]) -> Iterator[_Stretch]:
    """Whole utterances, as many as `STRETCH` takes; each begins in the middle of the one before."""
    begin = 0
    while begin < len(talk):
        end, length = begin, 1
        while end < len(talk) and (end == begin or length + len(talk[end]) + 1 <= STRETCH):
            length += len(talk[end]) + 1
            end += 1
        yield _Stretch(begin, tuple(talk[begin:end]))
        if end == len(talk):
            return
        begin = max(begin + 1, end - (end - begin) // 2)

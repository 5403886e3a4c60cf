"""All written forms of all phrases as one network of tokens, unrolled branch by branch as the search asks for it."""

from collections.abc import Iterable

from companion.hearing.scorer_tokens import SPACE, Tokenizer
from companion.hearing.scorer_variants import edges, is_number

_REPEATED = 2
"""Words of the longest phrase that may be said several times over: "stop, stop". Never a number: "five five" is two."""
_BETWEEN = (",", ".")
_AFTER = (".", ",", "!", "?", "...")


class Lattice:
    """A network whose states are numbers. State 0 is the beginning of every phrase."""

    def __init__(self, phrases: Iterable[str], tokenizer: Tokenizer) -> None:
        self.phrases = tuple(phrases)
        self._next: list[dict[int, list[int]]] = [{}]
        self._ends: list[int] = [-1]
        self._owner: list[int] = [-1]
        between = [tokenizer.encode_piece(mark) for mark in _BETWEEN]
        after = [tokenizer.encode_piece(mark) for mark in _AFTER]
        for number, phrase in enumerate(self.phrases):
            self._add(number, tuple(phrase.split(" ")), tokenizer, between, after)

    def _state(self, owner: int, ends: int = -1) -> int:
        self._next.append({})
        self._ends.append(ends)
        self._owner.append(owner)
        return len(self._next) - 1

    def _add(
        self,
        number: int,
        words: tuple[str, ...],
        tokenizer: Tokenizer,
        between: list[tuple[int, ...]],
        after: list[tuple[int, ...]],
    ) -> None:
        last = len(words)
        places = [0, *(self._state(number) for _ in words[1:]), self._state(number, number)]
        # After a comma or full stop the phrase goes on as before, but no second mark may follow.
        marked = [0, *(self._state(number) for _ in words[1:])]
        for start, end, written in edges(words):
            for text in written:
                tokens = [token for part in _parts(text) for token in tokenizer.encode_piece(part)]
                self._path(number, places[start], tokens, places[end])
                if start and text.startswith(SPACE):
                    self._path(number, marked[start], tokens, places[end])
        for place in range(1, last):
            for mark in between:
                self._path(number, places[place], list(mark), marked[place])
        over = self._state(number, number)
        for mark in after:
            self._path(number, places[last], list(mark), over)
        if last <= _REPEATED and not any(is_number(word) for word in words):
            for _, end, written in (edge for edge in edges(words) if edge[0] == 0):
                for text in written:
                    tokens = [token for part in _parts(text) for token in tokenizer.encode_piece(part)]
                    self._path(number, places[last], tokens, places[end])
                    self._path(number, over, tokens, places[end])

    def _path(self, number: int, start: int, tokens: list[int], end: int) -> None:
        for token in tokens[:-1]:
            onward = self._state(number)
            self._next[start].setdefault(token, []).append(onward)
            start = onward
        self._next[start].setdefault(tokens[-1], []).append(end)

    def onward(self, states: tuple[int, ...]) -> dict[int, tuple[int, ...]]:
        """Each token that may come next in any of `states`, and the states it leads to."""
        if len(states) == 1:
            return {token: tuple(ends) for token, ends in self._next[states[0]].items()}
        merged: dict[int, list[int]] = {}
        for state in states:
            for token, ends in self._next[state].items():
                merged.setdefault(token, []).extend(ends)
        return {token: tuple(dict.fromkeys(ends)) for token, ends in merged.items()}

    def complete(self, states: tuple[int, ...]) -> tuple[int, ...]:
        """Numbers of the phrases that may end here."""
        return tuple(dict.fromkeys(self._ends[state] for state in states if self._ends[state] >= 0))

    def owners(self, states: tuple[int, ...]) -> set[int]:
        """Numbers of the phrases that may still come of any of `states`, the beginning left out."""
        return {self._owner[state] for state in states}


def _parts(text: str) -> list[str]:
    """Split at inner spaces, so that each word is encoded by itself."""
    head, *rest = text.split(SPACE)
    return [part for part in ([head] if head else []) + [SPACE + part for part in rest] if part]

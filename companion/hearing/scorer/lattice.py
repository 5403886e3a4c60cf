"""All written forms of all phrases as one network of tokens, unrolled branch by branch as the search asks for it."""

from collections.abc import Iterable

from companion.hearing.scorer.tokens import SPACE, Tokenizer
from companion.hearing.scorer.variants import edges_from, is_number

State = tuple[int, int, tuple[int, ...], bool]
"""Phrase, place in it (words before it are written), tokens still to be written to get there, and whether the last
thing written was a mark, after which no second one may follow."""

BEGINNING: tuple[State, ...] = ((-1, 0, (), False),)
"""Where every phrase begins."""

_REPEATED = 2
"""Words of the longest phrase that may be said several times over: "stop, stop". Never a number: "five five" is two."""
_BETWEEN = (",", ".")
_AFTER = (".", ",", "!", "?", "...")


class Lattice:
    """A network that is never drawn whole: a thousand phrases have a few hundred thousand places."""

    def __init__(self, phrases: Iterable[str], tokenizer: Tokenizer) -> None:
        self.phrases = tuple(phrases)
        self._words = [tuple(phrase.split(" ")) for phrase in self.phrases]
        self._tokenizer = tokenizer
        self._between = [tokenizer.encode_piece(mark) for mark in _BETWEEN]
        self._after = [tokenizer.encode_piece(mark) for mark in _AFTER]
        self._known: dict[State, dict[int, tuple[State, ...]]] = {}

    def onward(self, states: tuple[State, ...]) -> dict[int, tuple[State, ...]]:
        """Each token that may come next in any of `states`, and the states it leads to."""
        if len(states) == 1:
            return self._from(states[0])
        merged: dict[int, dict[State, None]] = {}
        for state in states:
            for token, ends in self._from(state).items():
                merged.setdefault(token, {}).update(dict.fromkeys(ends))
        return {token: tuple(ends) for token, ends in merged.items()}

    def complete(self, states: tuple[State, ...]) -> tuple[int, ...]:
        """Numbers of the phrases that may end here."""
        done = (n for n, place, pending, _ in states if n >= 0 and not pending and place == len(self._words[n]))
        return tuple(dict.fromkeys(done))

    def owners(self, states: tuple[State, ...]) -> set[int]:
        """Numbers of the phrases that may still come of any of `states`."""
        return {state[0] for state in states}

    def _from(self, state: State) -> dict[int, tuple[State, ...]]:
        number, place, pending, marked = state
        if pending:
            return {pending[0]: ((number, place, pending[1:], marked),)}
        if state not in self._known:
            found: dict[int, dict[State, None]] = {}
            for tokens, end, mark in self._steps(number, place, marked) if number >= 0 else self._first_steps():
                found.setdefault(tokens[0], {})[(end[0], end[1], tokens[1:], mark)] = None
            self._known[state] = {token: tuple(ends) for token, ends in found.items()}
        return self._known[state]

    def _first_steps(self) -> Iterable[tuple[tuple[int, ...], tuple[int, int], bool]]:
        for number in range(len(self.phrases)):
            yield from self._steps(number, 0, False)

    def _steps(self, number: int, place: int, marked: bool) -> Iterable[tuple[tuple[int, ...], tuple[int, int], bool]]:
        """Tokens, the phrase and place they lead to, and whether they are a mark."""
        words = self._words[number]
        last = len(words)
        begins_again = place == last <= _REPEATED and not any(is_number(word) for word in words)
        if place < last or begins_again:
            for end, written in edges_from(words, place % last):
                for text in written:
                    if text.startswith(SPACE) or not marked:
                        yield self._tokens(text), (number, end), False
        if place and not marked:
            for mark in self._after if place == last else self._between:
                yield mark, (number, place), True

    def _tokens(self, text: str) -> tuple[int, ...]:
        """Each word is encoded by itself, with the space before it."""
        head, *rest = text.split(SPACE)
        parts = ([head] if head else []) + [SPACE + part for part in rest]
        return tuple(token for part in parts for token in self._tokenizer.encode_piece(part))

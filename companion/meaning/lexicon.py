"""What people were heard to say for each step: in how many utterances each word and each pair of words stood.

Counted by `tests/bench/rehearsal_fit.py` from the invented transcripts for tuning in `tests/data/rehearsals`: no real
person's words. A procedure without such counts does without.
"""

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from importlib import resources
from itertools import pairwise
from math import exp, log

from companion.meaning.words import Word

OTHER = ""
"""Stands for talk that says no step."""

_SMOOTH = 1.5
"""Utterances added to each step's, spread as words are over the whole procedure."""
_FLAT = 0.6
"""Words of one utterance go together, so that each says less than it would alone."""


@dataclass(frozen=True)
class Lexicon:
    """`said[step]` is how many utterances said it, and in how many of them each word stood."""

    said: Mapping[str, tuple[int, Mapping[str, int]]]

    @cached_property
    def _all(self) -> Counter[str]:
        whole: Counter[str] = Counter()
        for _, counts in self.said.values():
            whole.update(counts)
        return whole

    @cached_property
    def _number(self) -> int:
        return sum(number for number, _ in self.said.values())

    def likely(self, tokens: Sequence[str]) -> dict[str, float]:
        """How likely each step is what these words are about, by themselves (naive Bayes, steps equally frequent)."""
        shares = {token: self._all[token] / self._number for token in set(tokens) if token in self._all}
        if not shares:
            return {}
        scores = {
            step: _FLAT
            * sum(
                log((counts.get(token, 0) + _SMOOTH * share) / (number + _SMOOTH) / share)
                for token, share in shares.items()
            )
            for step, (number, counts) in self.said.items()
        }
        most = max(scores.values())
        whole = sum(exp(score - most) for score in scores.values())
        return {step: exp(score - most) / whole for step, score in scores.items()}


def tokens(said: Sequence[Word], why: Sequence[str], places: range) -> Iterator[str]:
    """The stems of the words that count, and each two that follow each other; any number is `#`."""
    stems = ["#" if said[place].number else said[place].stem for place in places if not why[place]]
    yield from stems
    yield from (f"{one} {other}" for one, other in pairwise(stems))


def lexicon_of(name: str) -> Lexicon | None:
    """The counts kept for a procedure, or None."""
    file = resources.files("companion.meaning") / "lexicons" / f"{name}.json"
    if not file.is_file():
        return None
    kept = json.loads(file.read_text(encoding="utf-8"))
    return Lexicon({step: (number, counts) for step, (number, counts) in kept.items()})

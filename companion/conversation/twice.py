"""A reply said again after it was not clearly heard: the same phrase twice is more than either time alone."""

import math

from companion.ports.recogniser import Hearing

PRIOR = 0.1
"""Chance that an utterance that was not taken was the phrase it came nearest to (our own reckoning: such utterances
are mostly talk). The two times are taken to be independent given what was said."""

SURE, SURE_STRICT = 0.9, 0.97


class Twice:
    """Remembers the last unclear hearing of the step that is up. Values are never taken on the strength of this."""

    def __init__(self) -> None:
        self._nearest: str | None = None
        self._odds = 0.0

    def forget(self) -> None:
        """Something was taken, or another step is up."""
        self._nearest = None

    def taken(self, hearing: Hearing, strict: bool) -> bool:
        """Whether this unclear hearing, with the one before, makes the phrase sure enough."""
        odds = _logit(hearing.probability)
        same = hearing.nearest is not None and hearing.nearest == self._nearest
        together = odds + self._odds - _logit(PRIOR) if same else odds
        self._nearest, self._odds = hearing.nearest, odds
        return same and together >= _logit(SURE_STRICT if strict else SURE)


def _logit(probability: float) -> float:
    bounded = min(max(probability, 0.001), 0.999)
    return math.log(bounded / (1 - bounded))

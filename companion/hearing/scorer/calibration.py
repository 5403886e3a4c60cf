"""From what the scorer measured to one chance that the phrase was really said.

A logistic regression, fitted on one half of the corpus by `python -m tests.bench.hearing --fit`; the other half gives
the reliability table. The coefficients are data: change them only by fitting again. Also tried, and left out because
none of them made data it was not fitted on more likely: the phrase's chance by itself, its weakest token, its length,
how long the sound lasts, and the noise.
"""

import math
from dataclasses import dataclass

_LONG = 4
"""Words from which the margin counts by the word: every word adds its share of small doubts."""


@dataclass(frozen=True)
class Evidence:
    """What the scorer measured of one utterance. Chances are natural logarithms."""

    margin: float
    """The phrase's chance above that of the model's free writing."""
    lead: float
    """The phrase's chance above that of the best other phrase or decoy."""
    contained: bool
    """The free writing holds the phrase, word for word and in order, with more words besides."""
    alike: float
    """Likeness, 0 to 1, of the phrase and the free writing letter by letter: an accent gives "cloves" for "clubs"."""
    words: int


NAMES = ("one", "margin", "contained", "alike")
WEIGHTS = (2.5, 0.66, -3.8, 2.1)

ACCEPT, ACCEPT_NUMBER, ACCEPT_STRICT, UNCLEAR = 0.5, 0.65, 0.8, 0.05
"""Chance from which a phrase is accepted, accepted with a number in it (a number taken for another is worse than one
asked for again), accepted at a critical step, and asked about rather than passed by."""


def features(evidence: Evidence) -> tuple[float, ...]:
    """The measures that are weighed, in the order of `NAMES`, each held within the range met in fitting."""
    margin = evidence.margin / max(1.0, evidence.words / _LONG)
    return 1.0, _held(margin, -12.0, 0.5), float(evidence.contained), evidence.alike


def probability(evidence: Evidence) -> float:
    """Chance, 0 to 1, that the phrase was said and nothing else.

    The regression tells whether it was this phrase or free talk; what is left is shared with the best rival by their
    own chances.
    """
    odds = sum(weight * value for weight, value in zip(WEIGHTS, features(evidence), strict=True))
    return _sigmoid(odds) * _sigmoid(evidence.lead)


def _sigmoid(odds: float) -> float:
    return 1 / (1 + math.exp(-_held(odds, -30.0, 30.0)))


def _held(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)

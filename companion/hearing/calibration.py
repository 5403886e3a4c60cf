"""From what the scorer measured to one chance that the phrase was really said.

A logistic regression, fitted on one half of the corpus by `python -m tests.bench.hearing --fit`; the other half gives
the reliability table. The coefficients are data: change them only by fitting again.
"""

import math
from dataclasses import dataclass

from companion.hearing.scorer_search import LEAD


@dataclass(frozen=True)
class Evidence:
    """What the scorer measured of one utterance. Chances are natural logarithms."""

    margin: float
    """The best phrase's chance above that of the model's free writing."""
    chance: float
    """The best phrase's chance."""
    lead: float
    """The best phrase's chance above that of the next phrase or decoy, at most `LEAD`."""
    weakest: float
    """The smallest chance of any of its tokens."""
    letters: int
    """Letters and figures of the best phrase as it was written."""
    free_letters: int
    """Letters and figures of the free writing."""
    contained: bool
    """The free writing holds the phrase, word for word and in order, with more words besides."""
    seconds: float
    """Length of the sound that stands out of the noise."""
    snr_db: float


NAMES = ("one", "margin", "chance", "lead", "weakest", "longer", "shorter", "contained", "length", "slow", "noise")
WEIGHTS = (4.75, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, -0.7, 0.0, 0.0, 0.0)


def features(evidence: Evidence) -> tuple[float, ...]:
    """The measures that are weighed, in the order of `NAMES`, each held within a range that was met in fitting."""
    extra = (evidence.free_letters - evidence.letters) / max(evidence.letters, 1)
    expected_s = 0.3 + 0.09 * evidence.letters  # a slow speaker's: common practice
    return (
        1.0,
        _held(evidence.margin, -12.0, 0.5),
        _held(evidence.chance, -14.0, 0.0),
        _held(evidence.lead, -LEAD, LEAD),
        _held(evidence.weakest, -10.0, 0.0),
        _held(extra, 0.0, 1.0),
        _held(-extra, 0.0, 1.0),
        float(evidence.contained),
        _held(math.log(max(evidence.letters, 2) / 12), -1.5, 1.5),
        _held(evidence.seconds - expected_s, 0.0, 2.0),
        _held((20 - evidence.snr_db) / 10, 0.0, 2.0),
    )


def probability(evidence: Evidence) -> float:
    """Chance, 0 to 1, that the best phrase was said and nothing else."""
    odds = sum(weight * value for weight, value in zip(WEIGHTS, features(evidence), strict=True))
    return 1 / (1 + math.exp(-_held(odds, -30.0, 30.0)))


def _held(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


ACCEPT, ACCEPT_STRICT, UNCLEAR = 0.5, 0.8, 0.05

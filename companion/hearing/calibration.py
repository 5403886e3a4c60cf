"""From what the scorer measured to one chance that the phrase was really said.

A logistic regression, fitted on the training half of the corpus by `python -m tests.bench.hearing --fit`; the other
half gives the reliability table. The coefficients are data: change them only by fitting again.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Evidence:
    """What the scorer measured of one utterance. Chances are natural logarithms."""

    margin: float
    """The best phrase's chance above that of the model's free writing."""
    chance: float
    """The best phrase's chance."""
    lead: float
    """The best phrase's chance above that of the next phrase or decoy."""
    weakest: float
    """The smallest chance of any of its tokens."""
    words: int
    seconds: float
    """Length of the sound that stands out of the noise."""
    snr_db: float


def probability(evidence: Evidence) -> float:
    """Chance, 0 to 1, that the best phrase was said and nothing else."""
    margin = max(evidence.margin, -20.0)
    return 1 / (1 + math.exp(-(margin + 4.0) * 1.2))


ACCEPT, ACCEPT_STRICT, UNCLEAR = 0.5, 0.8, 0.05

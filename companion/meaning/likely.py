"""The port of a model that reads a whole talk: what it takes each utterance to say."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

LEAST, MOST = -5, 7
"""Odds beyond these say no more."""


@dataclass(frozen=True)
class Likely:
    """One step in one utterance."""

    step: str
    odds: float
    """Natural logarithm of how likely it is said there to how likely it is not."""
    at: int
    """Place in the text of the word that tells it most."""


class TalkReader(Protocol):
    """Reads a talk of one procedure."""

    name: str
    """Which model it is and what it was taught, for the record."""

    def read(self, talk: Sequence[str]) -> Sequence[Sequence[Likely]]:
        """For each utterance the steps that are not out of the question."""

"""Whether a word that no list holds looks like a name or like any other word, by three letters in a row."""

import math
from collections.abc import Mapping
from functools import cache
from pathlib import Path

_LISTED = Path(__file__).parent / "looks.txt"


@cache
def _weights() -> dict[str, int]:
    lines = (line.split() for line in _LISTED.read_text(encoding="ascii").splitlines() if not line.startswith("#"))
    return {kind: int(weight) for kind, weight in lines}


def letters(word: str) -> list[str]:
    """`ab` -> `^ab`, `ab$`."""
    told = f"^{word}$"
    return [told[at : at + 3] for at in range(len(told) - 2)]


def looks(word: str, weights: Mapping[str, int] | None = None) -> float:
    """How much the word, in plain letters, looks like other words: below zero for a name sooner."""
    told = letters(word)
    known = _weights() if weights is None else weights
    return sum(known.get(each, 0) for each in told) / (10 * math.sqrt(len(told)))

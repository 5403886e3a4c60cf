"""How far two markers agree beyond chance: Cohen's kappa (Educ Psychol Meas 1960;20:37-46; formulas from memory)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from companion.errors import UsageError

BANDS = (
    (0.20, "slight"),
    (0.40, "fair"),
    (0.60, "moderate"),
    (0.80, "substantial"),
    (1.00, "almost perfect"),
)
"""Up to and including each figure; below 0 it is `poor` (Landis and Koch, Biometrics 1977;33:159-74)."""

_Z95 = 1.959963984540054
"""The 97.5 % point of the standard normal distribution."""


@dataclass(frozen=True)
class Agreement:
    """Two markers over the same items."""

    categories: tuple[str, ...]
    table: tuple[tuple[int, ...], ...]
    """Counts: a row for each mark of the first, a column for each of the second."""
    items: int
    observed: float
    """Share of the items on which they agree."""
    expected: float
    """Share on which they would agree by chance."""
    kappa: float | None
    """None where both gave every item the same one mark: chance explains it all."""
    low: float | None
    high: float | None
    """The 95 % interval of kappa (Fleiss, Cohen and Everitt, Psychol Bull 1969;72:323-7; from memory)."""

    @property
    def band(self) -> str:
        """Kappa in words."""
        return "undefined" if self.kappa is None else band(self.kappa)


def band(kappa: float) -> str:
    """The words for a kappa from -1 to 1. Raises UsageError for anything else."""
    if not -1 <= kappa <= 1 + 1e-12:
        raise UsageError(f"kappa {kappa}: -1 to 1 is accepted")
    if kappa < 0:
        return "poor"
    return next((name for most, name in BANDS if kappa <= most), BANDS[-1][1])


def agreement(first: Sequence[str], second: Sequence[str], categories: Sequence[str]) -> Agreement:
    """Kappa of two lists of marks over the same items, in the same order. Raises UsageError when they do not fit."""
    if len(first) != len(second):
        raise UsageError(f"one marker marked {len(first)} items and the other {len(second)}; the same ones are needed")
    place = {name: number for number, name in enumerate(categories)}
    table = [[0] * len(categories) for _ in categories]
    for one, other in zip(first, second, strict=True):
        if one not in place or other not in place:
            unknown = one if one not in place else other
            raise UsageError(f"`{unknown}` is no mark; accepted: {', '.join(categories)}")
        table[place[one]][place[other]] += 1
    return of_table(table, categories)


def of_table(table: Sequence[Sequence[int]], categories: Sequence[str]) -> Agreement:
    """Kappa of a square table of counts. Raises UsageError when it is none, or empty."""
    size = len(categories)
    if len(table) != size or any(len(row) != size for row in table) or any(n < 0 for row in table for n in row):
        raise UsageError(f"a table of {size} by {size} counts is needed")
    items = sum(map(sum, table))
    if not items:
        raise UsageError("no item was marked by both")
    rows = [sum(row) / items for row in table]
    columns = [sum(row[number] for row in table) / items for number in range(size)]
    observed = sum(table[number][number] for number in range(size)) / items
    expected = sum(row * column for row, column in zip(rows, columns, strict=True))
    kappa = low = high = None
    # By the counts, not by the float: chance is certain only where both used one and the same mark throughout
    if not any(table[number][number] == items for number in range(size)):
        kappa = (observed - expected) / (1 - expected)
        half = _Z95 * math.sqrt(_variance(table, items, rows, columns, kappa, expected))
        low, high = kappa - half, kappa + half
    kept = tuple(tuple(row) for row in table)
    return Agreement(tuple(categories), kept, items, observed, expected, kappa, low, high)


def _variance(
    table: Sequence[Sequence[int]],
    items: int,
    rows: Sequence[float],
    columns: Sequence[float],
    kappa: float,
    expected: float,
) -> float:
    size = range(len(rows))
    same = sum(table[i][i] / items * (1 - (rows[i] + columns[i]) * (1 - kappa)) ** 2 for i in size)
    other = sum(table[i][j] / items * (columns[i] + rows[j]) ** 2 for i in size for j in size if i != j)
    rest = (kappa - expected * (1 - kappa)) ** 2
    return max(0.0, (same + (1 - kappa) ** 2 * other - rest) / ((1 - expected) ** 2 * items))

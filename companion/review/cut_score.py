"""Where a class passes: borderline regression (Hejri et al., J Res Med Sci 2013;18:887-91).

The checklist scores of a class are regressed on the global ratings; the score that the line gives at `borderline` is
the cut.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from companion.errors import UsageError

LEAST = 5
"""Fewer marked sessions than this give a line that one more would turn (common practice: a class, not a handful)."""


@dataclass(frozen=True)
class CutScore:
    """The line `score = intercept + slope * rating`, and what it gives at the borderline."""

    slope: float
    intercept: float
    borderline: float
    cut: float
    n: int
    r: float | None
    """Correlation of rating and score; None where every score is the same."""


def cut_score(ratings: Sequence[float], scores: Sequence[float], borderline: float) -> CutScore:
    """The cut of a class. `ratings` and `scores` belong to the same sessions, in the same order.

    Raises UsageError when there are fewer than two sessions, or all have one rating: no line can be drawn.
    """
    x, y = np.asarray(ratings, dtype=float), np.asarray(scores, dtype=float)
    if x.shape != y.shape or x.ndim != 1:
        raise UsageError(f"{x.size} ratings and {y.size} scores: one of each is needed for every session")
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise UsageError("a rating or score is no finite figure")
    if x.size < 2 or (x == x[0]).all():
        raise UsageError("no cut score: at least two sessions with different global ratings are needed")
    dx, dy = x - x.mean(), y - y.mean()
    slope = float(dx @ dy / (dx @ dx))
    intercept = float(y.mean() - slope * x.mean())
    spread = float(np.sqrt((dx @ dx) * (dy @ dy)))
    r = None if (y == y[0]).all() else float(dx @ dy) / spread
    return CutScore(slope, intercept, borderline, intercept + slope * borderline, int(x.size), r)

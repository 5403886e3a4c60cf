"""Where a class passes: borderline regression (Hejri et al., J Res Med Sci 2013;18:887-91).

The checklist scores of a class are regressed on the global ratings; the score that the line gives at `borderline` is
the cut.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import correlation, linear_regression

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
    if len(ratings) != len(scores):
        raise UsageError(f"{len(ratings)} ratings and {len(scores)} scores: one of each is needed for every session")
    if not all(map(math.isfinite, [*ratings, *scores])):
        raise UsageError("a rating or score is no finite figure")
    if len(set(ratings)) < 2:
        raise UsageError("no cut score: at least two sessions with different global ratings are needed")
    slope, intercept = linear_regression(ratings, scores)
    r = correlation(ratings, scores) if len(set(scores)) > 1 else None
    return CutScore(slope, intercept, borderline, intercept + slope * borderline, len(ratings), r)

"""Borderline regression against scipy, statsmodels, scikit-learn and the worked class."""

import random

import numpy as np
import pytest

from companion.errors import UsageError
from companion.review.cut_score import cut_score
from tests.review.parts import part


def test_the_worked_class() -> None:
    """Slope 12.4615, intercept 29.2308, cut at 2 = 54.1538 (computed by hand from these figures)."""
    found = cut_score([1, 1, 2, 2, 3, 3, 4], [40, 44, 52, 56, 63, 69, 80], 2)
    assert (found.slope, found.intercept, found.cut) == pytest.approx((12.4615, 29.2308, 54.1538), abs=5e-5)
    assert found.n == 7


@pytest.mark.parametrize("seed", range(60))
def test_like_the_libraries(seed: int) -> None:
    scipy = part("scipy.stats", "scipy")
    linear = part("sklearn.linear_model", "scikit-learn")
    statsmodels = part("statsmodels.api", "statsmodels")
    chance = random.Random(seed)
    count = chance.randint(5, 400)
    ratings = [1.0, 4.0, *(float(chance.randint(1, 4)) for _ in range(count))]
    scores = [min(100.0, max(0.0, 30 + 15 * one + chance.gauss(0, 12))) for one in ratings]
    found = cut_score(ratings, scores, 2)
    theirs = scipy.linregress(ratings, scores)
    assert (found.slope, found.intercept, found.r) == pytest.approx(
        (theirs.slope, theirs.intercept, theirs.rvalue), abs=1e-9
    )
    intercept, slope = statsmodels.OLS(scores, statsmodels.add_constant(np.array(ratings))).fit().params
    assert found.cut == pytest.approx(intercept + 2 * slope, abs=1e-9)
    model = linear.LinearRegression().fit(np.array(ratings)[:, None], scores)
    assert found.cut == pytest.approx(float(model.predict([[2.0]])[0]), abs=1e-9)


def test_one_score_throughout_has_no_correlation() -> None:
    found = cut_score([1, 2, 3], [70, 70, 70], 2)
    assert (found.slope, found.cut, found.r) == (0, 70, None)


@pytest.mark.parametrize(
    ("ratings", "scores", "says"),
    [
        ([], [], "no cut score"),
        ([2], [50], "no cut score"),
        ([3, 3, 3], [40, 50, 60], "different global ratings"),
        ([1, 2], [40], "one of each"),
        ([1, float("nan")], [40, 50], "no finite figure"),
    ],
)
def test_what_gives_no_line(ratings: list[float], scores: list[float], says: str) -> None:
    with pytest.raises(UsageError, match=says):
        cut_score(ratings, scores, 2)

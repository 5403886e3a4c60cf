"""Kappa against scikit-learn, statsmodels and the worked tables of the literature."""

import math
import random

import numpy as np
import pytest

from companion.errors import UsageError
from companion.review.agreement import agreement, band, of_table
from tests.review.parts import part


def _marks(seed: int) -> tuple[list[str], list[str], list[str]]:
    chance = random.Random(seed)
    categories = [f"mark {n}" for n in range(chance.randint(2, 5))]
    count = chance.randint(8, 300)
    first = [chance.choice(categories) for _ in range(count)]
    lazy = chance.random()
    second = [one if chance.random() < lazy else chance.choice(categories) for one in first]
    return categories, first, second


@pytest.mark.parametrize("seed", range(200))
def test_like_scikit_learn_and_statsmodels(seed: int) -> None:
    sklearn = part("sklearn.metrics", "scikit-learn")
    statsmodels = part("statsmodels.stats.inter_rater", "statsmodels")
    categories, first, second = _marks(seed)
    found = agreement(first, second, categories)
    theirs = statsmodels.cohens_kappa(np.array(found.table), return_results=True)
    if found.kappa is None:
        assert len({*first, *second}) == 1
        return
    assert found.low is not None and found.high is not None
    assert found.kappa == pytest.approx(sklearn.cohen_kappa_score(first, second, labels=categories), abs=1e-9)
    assert found.kappa == pytest.approx(theirs.kappa, abs=1e-9)
    assert (found.low, found.high) == pytest.approx((theirs.kappa_low, theirs.kappa_upp), abs=1e-9)


@pytest.mark.parametrize(
    ("table", "kappa"),
    [
        ([[44, 5, 1], [7, 20, 3], [9, 5, 6]], 0.4915),  # table in R documentation; believed Cohen 1960
        ([[20, 5], [10, 15]], 0.40),  # textbook contrasts, from memory
        ([[22, 5], [7, 16]], 0.5138),
        ([[45, 15], [25, 15]], 0.1304),
        ([[25, 35], [5, 35]], 0.2593),
    ],
)
def test_worked_tables(table: list[list[int]], kappa: float) -> None:
    found = of_table(table, [str(n) for n in range(len(table))])
    assert found.kappa == pytest.approx(kappa, abs=5e-5)


def test_the_shares_of_a_worked_table() -> None:
    """Observed 0.70, expected 0.41: the same table as above."""
    found = of_table([[44, 5, 1], [7, 20, 3], [9, 5, 6]], "abc")
    assert (found.observed, found.expected) == pytest.approx((0.70, 0.41), abs=1e-12)


@pytest.mark.parametrize(
    ("kappa", "words"),
    [
        *[(-1.0, "poor"), (-0.0001, "poor"), (0.0, "slight"), (0.20, "slight"), (0.2001, "fair"), (0.40, "fair")],
        *[(0.41, "moderate"), (0.60, "moderate"), (0.61, "substantial"), (0.80, "substantial")],
        *[(0.81, "almost perfect"), (1.0, "almost perfect")],
    ],
)
def test_bands(kappa: float, words: str) -> None:
    """Landis and Koch, Biometrics 1977;33:159-74."""
    assert band(kappa) == words


def test_one_mark_throughout_says_nothing() -> None:
    found = agreement(["done"] * 7, ["done"] * 7, ["done", "not done"])
    assert (found.kappa, found.low, found.band, found.observed) == (None, None, "undefined", 1.0)


def test_all_agreed_is_one() -> None:
    found = agreement(["a", "b", "a"], ["a", "b", "a"], ["a", "b"])
    assert found.kappa == 1.0 and found.band == "almost perfect"


@pytest.mark.parametrize(
    ("first", "second", "says"),
    [(["a"], ["a", "b"], "the same ones are needed"), (["a"], ["x"], "`x` is no mark"), ([], [], "marked by both")],
)
def test_what_does_not_fit_is_refused(first: list[str], second: list[str], says: str) -> None:
    with pytest.raises(UsageError, match=says):
        agreement(first, second, ["a", "b"])


def test_no_kappa_has_no_band() -> None:
    with pytest.raises(UsageError, match="-1 to 1"):
        band(math.inf)

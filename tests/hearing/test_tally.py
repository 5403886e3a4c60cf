"""Intervals against published ones."""

import math

import pytest

from companion.hearing.tally import Tally, quantile, share, wilson


@pytest.mark.parametrize(
    ("count", "of", "low", "high"),
    [
        # Newcombe, Statistics in Medicine 1998;17:857-72, table I, method 3 (from memory).
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson(count: int, of: int, low: float, high: float) -> None:
    assert list(wilson(count, of)) == pytest.approx([low, high], abs=5e-5)


def test_nothing_counted_is_said_so() -> None:
    assert wilson(0, 0) == (0.0, 1.0)
    assert share(0, 0) == "none counted"


def test_each_outcome_is_counted_once() -> None:
    tally = Tally()
    for truth, heard in [("a", "a"), ("a", None), ("a", "b"), (None, None), (None, "a"), (None, "b")]:
        tally.add(truth, heard, 0.1)
    assert (tally.phrases, tally.missed, tally.wrong) == (3, 1, 1)
    assert (tally.intruders, tally.accepted) == (3, 2)


def test_quantile_is_one_of_the_values() -> None:
    assert quantile([3.0, 1.0, 2.0, 4.0], 0.5) == 2.0
    assert quantile([3.0, 1.0, 2.0, 4.0], 0.95) == 4.0
    assert math.isnan(quantile([], 0.5))

"""Two unclear hearings of one phrase. The arithmetic is Bayes' rule in odds form (any statistics text)."""

import math

import pytest

from companion.conversation.twice import PRIOR, SURE, Twice
from companion.ports.recogniser import Hearing


def _unclear(nearest: str, probability: float) -> Hearing:
    return Hearing("unclear", None, nearest, -1.0, "test", "not sure", 0.0, probability)


def _bayes(one: float, two: float) -> float:
    odds = (one / (1 - one)) * (two / (1 - two)) / (PRIOR / (1 - PRIOR))
    return odds / (1 + odds)


@pytest.mark.parametrize(("one", "two"), [(0.4, 0.45), (0.5, 0.6), (0.1, 0.2), (0.3, 0.3), (0.49, 0.5)])
def test_the_same_phrase_twice_is_weighed_by_bayes_rule(one: float, two: float) -> None:
    twice = Twice()
    assert not twice.taken(_unclear("gloves on", one), strict=False)
    assert twice.taken(_unclear("gloves on", two), strict=False) == (_bayes(one, two) >= SURE)
    assert math.isclose(_bayes(PRIOR, 0.3), 0.3)


def test_another_phrase_adds_nothing() -> None:
    twice = Twice()
    twice.taken(_unclear("gloves on", 0.5), strict=False)
    assert not twice.taken(_unclear("gloves off", 0.5), strict=False)


def test_a_critical_step_asks_for_more() -> None:
    for strict, taken in ((False, True), (True, False)):
        twice = Twice()
        twice.taken(_unclear("gloves on", 0.5), strict)
        assert twice.taken(_unclear("gloves on", 0.6), strict) is taken


def test_what_was_forgotten_does_not_count() -> None:
    twice = Twice()
    twice.taken(_unclear("gloves on", 0.5), strict=False)
    twice.forget()
    assert not twice.taken(_unclear("gloves on", 0.6), strict=False)

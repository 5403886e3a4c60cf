"""What the calibration must do whatever its coefficients are."""

from dataclasses import replace

import pytest

from companion.hearing.scorer.calibration import (
    ACCEPT,
    ACCEPT_NUMBER,
    ACCEPT_STRICT,
    NAMES,
    UNCLEAR,
    WEIGHTS,
    Evidence,
    features,
    probability,
)

SAID = Evidence(margin=0.0, lead=6.0, contained=False, alike=1.0, words=3)
"""A phrase said clearly in a quiet room."""


def test_one_coefficient_a_measure() -> None:
    assert len(NAMES) == len(WEIGHTS) == len(features(SAID))


def test_clear_speech_is_sure_and_other_speech_is_not() -> None:
    assert probability(SAID) > 0.98
    assert probability(replace(SAID, margin=-12.0, alike=0.2, lead=0.0)) < 0.02


@pytest.mark.parametrize("margin", [-10.0, -8.0, -6.0, -4.0, -2.0])
def test_a_better_fit_is_never_less_likely(margin: float) -> None:
    assert probability(replace(SAID, margin=margin + 1)) > probability(replace(SAID, margin=margin))


def test_of_two_equal_phrases_neither_is_sure() -> None:
    assert probability(replace(SAID, lead=0.0)) < ACCEPT < probability(replace(SAID, lead=2.0))


def test_more_words_than_the_phrase_count_against_it() -> None:
    """Common sense: "I told her gloves on was fine" is not "gloves on"."""
    doubtful = replace(SAID, margin=-2.0)
    assert probability(replace(doubtful, contained=True)) < ACCEPT < probability(doubtful)


def test_an_accent_is_forgiven_sooner_than_another_word() -> None:
    doubtful = replace(SAID, margin=-5.0)
    assert probability(replace(doubtful, alike=0.9)) > probability(replace(doubtful, alike=0.2))


def test_thresholds_are_in_order() -> None:
    assert 0 < UNCLEAR < ACCEPT < ACCEPT_NUMBER < ACCEPT_STRICT < 1


def test_extreme_measures_give_a_chance() -> None:
    for margin in (-1e9, 1e9):
        assert 0.0 <= probability(replace(SAID, margin=margin, lead=margin, words=90)) <= 1.0

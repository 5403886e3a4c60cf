"""What an educator's marks may hold. Three marks an item and half for part: common practice."""

from typing import Any

import pytest

from companion.errors import UsageError
from companion.review.marks import marks_from
from tests.review.making import marks


def test_the_score_is_per_cent_of_what_was_judged() -> None:
    assert marks().score == 75.0
    assert marks(items=[{"step": "rub", "mark": None}]).score is None
    assert marks(items=[{"step": "a"}, {"step": "b", "mark": "not done"}]).score == 0.0


def test_every_remark_comes_with_its_step() -> None:
    assert marks().texts == (("dry", "Not between the fingers."), ("", "Calm and complete."))


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"marker": "Ann"}, "two or three digits"),
        ({"marker": "1"}, "two or three digits"),
        ({"marker": "27", "rating": 0}, "1 to 4"),
        ({"marker": "27", "rating": 5}, "1 to 4"),
        ({"marker": "27", "items": [{"step": "rub", "mark": "well done"}]}, "done, in part or not done"),
        ({"marker": "27", "items": [{"step": "Rub!", "mark": "done"}]}, "done, in part or not done"),
        ({"marker": "27", "items": [{"step": "rub"}, {"step": "rub"}]}, "marked twice"),
        ({"marker": "27", "remark": "x" * 1001}, "up to 1,000 characters"),
        ({"marker": "27", "remark": "bell\x07"}, "plain text"),
        ({"marker": "27", "remark": "\ud800"}, "plain text"),
        ({"marker": "27", "patient": "x"}, "no such part"),
        ({}, "two or three digits"),
    ],
)
def test_what_does_not_fit_is_refused_in_a_sentence(given: dict[str, Any], says: str) -> None:
    with pytest.raises(UsageError, match=says):
        marks_from(given)

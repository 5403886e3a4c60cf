"""A timer and its text, which stands in every record."""

import pytest

from companion.session.timers import For, Timer

IN_RECORDS = {
    "rub/least": Timer("rub", For.LEAST),
    "rub/half": Timer("rub", For.HALF),
    "rub/most": Timer("rub", For.MOST),
    "look-again/look": Timer("look-again", For.LOOK),
    "breaths/part-2": Timer("breaths", For.PART, 2),
    "part-1/round-12": Timer("part-1", For.ROUND, 12),
}
"""The texts as records held them before timers had a type."""


@pytest.mark.parametrize("text", IN_RECORDS)
def test_records_tell_a_timer_by_the_same_text_as_ever(text: str) -> None:
    assert Timer.parse(text) == IN_RECORDS[text] and IN_RECORDS[text].text == text


@pytest.mark.parametrize(
    "text", ["", "rub", "rub/", "rub/soon", "rub/part-", "rub/part-x", "rub/part-02", "rub/part-²"]
)
def test_another_text_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is no timer; accepted"):
        Timer.parse(text)

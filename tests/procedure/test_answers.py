"""Answers held against others, and alerts that are confirmed once. The drill is made up; the rules are the design's."""

from decimal import Decimal

import pytest

from companion.procedure.kinds.reading import alerts
from companion.procedure.step_parts import Alert
from companion.speech.values import Value
from tests.procedure.test_due import drilled
from tests.walk import TODAY


def test_a_large_dose_is_confirmed_once_and_stands_as_such() -> None:
    """Common practice: an unusual dose is asked about, and given when the prescriber means it."""
    walker = drilled("forty two units")
    assert walker.step == "read-again"
    walker.replies("large dose is meant", "forty two units", "exactly right")
    assert walker.step == "large"
    assert walker.state.done[-1].note == "confirmed after meant"
    assert "42 units stands, confirmed after: Large, is it meant." in walker.texts()


def test_another_large_dose_is_asked_about_again() -> None:
    walker = drilled("forty two units")
    walker.replies("large dose is meant", "forty three units", "exactly right")
    assert walker.step == "read-again"


def test_what_one_alert_has_confirmed_does_not_silence_another() -> None:
    walker = drilled("forty two units")
    walker.replies("large dose is meant", "fifty five units", "exactly right")
    assert walker.step == "ask-prescriber"


def test_one_answer_may_be_refused_beside_an_earlier_value_and_another_stands() -> None:
    for answer, step in (("a small mark", "press"), ("nothing to see", "sign")):
        walker = drilled("forty units", second_person="no")
        walker.replies("figure is pointed out", "tray is tidy", *["zero point four milliliters"] * 2)
        walker.wait(10)
        walker.reply(answer)
        assert walker.step == step
        assert ("After so much it is looked at again." in walker.texts()) == (step == "press")


def test_below_the_limit_the_answer_stands() -> None:
    walker = drilled(second_person="no")
    walker.replies("tray is tidy", *["zero point one eight milliliters"] * 2)
    walker.wait(10)
    walker.reply("a small mark")
    assert walker.step == "sign"


@pytest.mark.parametrize(
    ("beside", "within", "beyond"),
    [("10", ("8", "12"), ("7", "13")), ("20", ("18", "22"), ("17", "23")), ("125", ("113", "137"), ("112", "138"))],
)
def test_a_figure_may_be_off_by_a_share_of_a_large_one(
    beside: str, within: tuple[str, str], beyond: tuple[str, str]
) -> None:
    """By hand: a tenth of 10 is 1 and of 20 is 2, so 2 is the limit; of 125 it is 12.5."""
    alert = Alert(branch="off", beside="rate", above=Decimal(2), below=Decimal(-2), percent=Decimal(10))
    given = {"rate": Value(type="number", text=beside, unit="mL")}

    def off(text: str) -> bool:
        return alerts(alert, Value(type="number", text=text, unit="mL"), TODAY, given)

    assert [off(text) for text in within] == [False, False]
    assert [off(text) for text in beyond] == [True, True]

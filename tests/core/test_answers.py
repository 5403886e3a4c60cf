"""Answers held against others, and alerts that are confirmed once. The drill is made up; the rules are the design's."""

from tests.core.test_due import drilled


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

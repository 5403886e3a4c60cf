"""Steps that are due only now and then. The drill is made up; the rules are the design's."""

from pathlib import Path

import pytest

from companion.procedure.due import is_due
from companion.procedure.loading import load
from companion.procedure.step_parts import When
from companion.rehearsal.judging import Rules, judge
from companion.session.findings import Heard
from tests.rehearsals import procedure
from tests.walk import Walker

DRILL = Path(__file__).parent.parent / "data" / "drill.yaml"


def drilled(dose: str = "eighteen units", **settings: str) -> Walker:
    """The drill up to the dose, with settings by name."""
    walker = Walker(load(DRILL, {name.replace("_", "-"): value for name, value in settings.items()}).procedure)
    walker.reply("rub is in")
    walker.wait(25)
    walker.replies("both hands dry", "name agrees", "birthday agrees", dose, "exactly right")
    return walker


def test_a_step_is_asked_only_when_its_setting_says_so() -> None:
    assert drilled().step == "tidy"
    assert drilled(stock_count="yes").step == "stock"


def test_a_step_is_asked_only_when_an_earlier_figure_says_so() -> None:
    walker = drilled("forty units")
    assert walker.step == "large"
    walker.reply("figure is pointed out")
    assert walker.step == "tidy"
    assert [done.step for done in walker.state.done][-1] == "large"


def test_what_is_passed_over_is_not_left_out() -> None:
    walker = drilled()
    walker.reply("tray is tidy")
    assert {"large", "stock"}.isdisjoint(done.step for done in walker.state.done)


def test_going_back_passes_over_it_too_and_another_figure_brings_it_back() -> None:
    walker = drilled()
    walker.reply("go back")
    assert walker.step == "ordered"
    walker.replies("forty units", "exactly right")
    assert walker.step == "large"


def test_after_a_pause_the_last_step_that_was_due_is_restated() -> None:
    walker = drilled()
    walker.replies("pause", "resume")
    assert walker.texts() == ["Going on. Last confirmed was: Ordered dose, 18 units. Is that so still, or not?"]


def test_without_a_second_person_the_figure_is_not_left_under_seal() -> None:
    """The double check is local policy's (ISMP 2019 asks for it for few medicines); the program still compares."""
    walker = drilled(second_person="no")
    walker.replies("tray is tidy", *["zero point one eight milliliters"] * 2)
    assert walker.step == "look"
    assert walker.state.values["volume"].written() == "0.18 mL" and not walker.state.seals


def test_a_step_that_hangs_on_one_that_is_not_due_is_not_due() -> None:
    whole = load(DRILL).procedure
    tidy = whole.step("tidy").model_copy(update={"when": When.model_validate({"of": "stock", "is": ["any"]})})
    assert is_due(whole, {}, tidy) is False
    assert is_due(whole, {}, whole.step("large")) is None, "not known before the dose is"


STRETCH = ("hands-before-preparing", "label-first", "wipe-stopper", "stopper-dry")
TALK = ("I clean my hands for thirty seconds", "I compare the label with the order", "I let it dry for thirty seconds")


@pytest.mark.parametrize(
    ("of", "is_", "critical"),
    [("double-check", "no", None), ("ordered-kind", "long acting", False)],
    ids=["a setting says no", "nothing was said of it"],
)
def test_in_a_rehearsal_a_step_that_is_not_due_is_not_missed(of: str, is_: str, critical: bool | None) -> None:
    """Common practice of examiners: what was not due is not left out; what may not have been is no failure."""
    insulin = procedure("subcutaneous-insulin")
    setting = insulin.settings[0].model_copy(update={"id": "double-check", "value": "yes"})
    when = When.model_validate({"of": of, "is": [is_]})
    steps = tuple(
        step.model_copy(update={"when": when}) if step.id == "wipe-stopper" else step for step in insulin.steps
    )
    insulin = insulin.model_copy(update={"steps": steps, "settings": (*insulin.settings, setting)})
    heard = [Heard(text=text, at_ms=n * 3000, until_ms=n * 3000 + 2000, n=n) for n, text in enumerate(TALK)]
    judged = judge(insulin, heard, Rules(only=STRETCH), took_ms=9000)
    assert [finding.critical for finding in judged.of("wipe-stopper")] == ([] if critical is None else [critical])
    assert ("wipe-stopper" in judged.expected) == (critical is not None)

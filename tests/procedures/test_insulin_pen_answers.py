"""Insulin by pen: how answers are held against each other, and who reads the dose again.

Sources as in `test_insulin_pen.py`: what stands there as read or from memory does so here.
"""

import pytest

from companion.core.procedure import CheckStep
from tests.procedures.library import with_policy
from tests.procedures.test_insulin_pen import GIVEN, PEN
from tests.procedures.walking import walk


@pytest.mark.parametrize(
    ("kind", "look", "branch"),
    [
        ("rapid acting", "evenly cloudy", "pen-unfit"),
        ("long acting", "evenly cloudy", "pen-unfit"),
        ("ready mixed", "clear as water", "pen-unfit"),
        ("intermediate acting", "evenly cloudy", None),
        ("short acting", "clear as water", None),
    ],
)
def test_how_it_looks_is_held_against_the_kind(kind: str, look: str, branch: str | None) -> None:
    """FIT UK 2016: cloudy kinds are mixed; those that act fast are clear (common practice)."""
    going = walk(PEN, GIVEN | {"ordered-kind": kind}, to="look-at-insulin").say(look)
    assert going.branch == branch
    assert ("mix" in going.done) == (kind in ("intermediate acting", "ready mixed"))


def test_a_cloudy_kind_is_mixed_once_more_right_before_the_needle() -> None:
    """Frid 2016, FIT UK 2016: it settles again while the pen is checked."""
    going = walk(PEN, GIVEN | {"ordered-kind": "ready mixed", "look-at-insulin": "evenly cloudy"}, to="attach-needle")
    assert going.done[-1] == "mix-again"
    assert "mix-again" not in walk(PEN, GIVEN).asked


@pytest.mark.parametrize(("kind", "branch"), [("rapid acting", "meal-kind"), ("long acting", None)])
def test_meal_insulin_is_no_basal_dose(kind: str, branch: str | None) -> None:
    """NPSA 2010, ISMP 2017: kinds for meal and night are mixed up."""
    assert walk(PEN, GIVEN | {"ordered-kind": kind}, to="meal").say("basal dose").branch == branch


def test_a_missing_meal_is_asked_about_and_basal_insulin_is_not_simply_dropped() -> None:
    """JBDS 01: insulin that is due is looked at again, not left out."""
    at = walk(PEN, GIVEN, to="meal").say("fasting or vomiting")
    assert at.step == "meal-call"
    given = at.fork().say("dose is confirmed")
    assert given.step == "meal" and given.say("prescriber wants it given").step == "site"
    assert at.fork().say("order was changed").branch == "order-unclear"
    held = at.say("held for now").to_end()
    assert "what is given instead" in held.outcome


def test_a_high_glucose_is_asked_about_and_then_stands() -> None:
    """JBDS 02: 3.0 mmol/L and more is the range of ketoacidosis; the limit is a setting."""
    high = "four hundred ninety milligrams per deciliter"
    going = walk(PEN, GIVEN, to="glucose").read(high)
    assert (going.branch, going.step) == ("high-glucose", "high-ketones")
    ill = going.fork().read("three point one millimoles per liter")
    assert ill.branch == "ketones-high"
    going.out_of("high-glucose").read(high)
    assert going.step == "low-signs"
    assert going.walker.state.done[-1].note == "confirmed after high-glucose"
    without = with_policy("insulin-pen", ketone_check="not required")
    assert walk(without, GIVEN, to="glucose").read(high).step == "high-look"


def test_a_meter_without_a_figure_can_be_told() -> None:
    """Common practice: HI and LO stand for more and less than a meter shows."""
    at = walk(PEN, GIVEN, to="glucose")
    assert at.fork().say("high on the meter", "still above its range").branch == "ketones-high"
    assert at.say("low on the meter").step == "low-treat"


def test_an_old_glucose_is_measured_anew() -> None:
    """Common practice, a setting: glucose moves far within an hour."""
    at = walk(PEN, GIVEN, to="glucose-age")
    assert "30 min" in " ".join(at.walker.texts())
    assert at.say("older than that", "measured just now").step == "glucose-age"


def test_a_low_glucose_is_treated_and_measured_again_before_anything_is_decided() -> None:
    """ADA 2025; JBDS 01: three rounds, then more is called for; insulin that is due is not left out."""
    going = walk(PEN, GIVEN, to="glucose").read("sixty nine milligrams per deciliter")
    assert going.step == "low-treat"
    assert going.to("low-decide").fork().say("dose is confirmed").step == "hands-before-patient"
    assert going.say("held for now").branch == "held"
    low = walk(PEN, GIVEN | {"low-again": ("sixty milligrams per deciliter",)}, to="glucose")
    low.read("sixty milligrams per deciliter").to("emergency-first")
    assert low.asked.count("still-treat") == 2


@pytest.mark.parametrize("word", ["vomiting and drowsy", "having a seizure", "hard to wake", "cannot swallow"])
@pytest.mark.parametrize("step", ["low-wait", "late-wait"])
def test_while_it_takes_effect_what_goes_wrong_can_be_told(step: str, word: str) -> None:
    """JBDS 01: whoever cannot swallow, is drowsy or has a seizure is treated another way at once."""
    low = walk(PEN, GIVEN, to="low-signs" if step == "low-wait" else "aftercare").say("sugar is dropping")
    assert low.to(step).wait(30).say(word).step == "emergency-first"


def test_signs_with_a_figure_that_is_not_low_get_no_sugar() -> None:
    """ADA 2025: what is below 70 mg/dL is treated."""
    going = walk(PEN, GIVEN, to="low-signs").say("warning signs present").out_of("signs-checked")
    assert "low-treat" not in going.asked
    assert going.say("signs are explained").step == "meal"


def test_a_large_dose_that_is_meant_can_be_given_and_is_shown_as_confirmed() -> None:
    """Common practice: above a setting the prescriber is asked; some patients need such doses."""
    going = walk(PEN, GIVEN | {"ordered-dose": "sixty units"})
    assert (going.status, going.value("dial")) == ("finished", "60 units")
    assert going.branches == ["large-dose"]
    assert [entry.note for entry in going.walker.state.done if entry.step == "ordered-dose"] == [
        "confirmed after large-dose"
    ]


def test_more_than_the_pen_dials_is_told_at_the_order() -> None:
    """Makers' leaflets: many dials end at 60, so a new pen of the same make does not help."""
    at = walk(PEN, GIVEN, to="ordered-dose")
    assert at.fork().read("sixty one units").branch == "device-too-small"
    assert at.read("sixty units").branch == "large-dose"
    further = with_policy("insulin-pen", device_largest="80")
    assert walk(further, GIVEN, to="ordered-dose").read("seventy units").branch == "large-dose"
    ends = walk(further, GIVEN | {"ordered-dose": "seventy units"}, to="dial").say("dial ends there")
    assert ends.branch == "device-too-small" and ends.to_end().status == "abandoned"


def test_an_unusual_dose_is_noticed_by_the_patient() -> None:
    """ISMP 2017: the patient is asked whether that is what they usually take."""
    at = walk(PEN, GIVEN, to="agreement")
    assert "usually take" in " ".join(at.walker.texts())
    assert at.say("dose is unusual").out_of("dose-unfamiliar").step == "agreement"


def test_too_early_is_waited_for_and_given_already_is_not_given() -> None:
    """Common practice; ISMP 2017."""
    at = walk(PEN, GIVEN, to="last-dose")
    assert at.fork().say("too early", "time has come").step == "last-dose"
    assert at.say("last one still acts").to_end().status == "abandoned"


def test_a_stronger_pen_is_asked_about_and_its_units_are_dialed_as_ordered() -> None:
    """NPSA 2010, NHS/PSA/W/2016/011: the dial of a pen counts units of its own insulin, so nothing is converted."""
    two_hundred = "two hundred units per milliliter"
    going = walk(PEN, GIVEN | {"pen-strength": two_hundred})
    assert (going.status, going.branches) == ("finished", ["strong-pen"])
    assert going.value("dial") == "18 units"
    assert walk(PEN, GIVEN | {"pen-strength": two_hundred}, to="dial").read("nine units").branch == "dial-differs"
    at = walk(PEN, GIVEN, to="pen-strength").read(two_hundred)
    assert at.fork().say("some other strength").branch == "label-differs"
    assert at.say("none is named").branch == "order-unclear"


def test_insulin_of_five_hundred_is_refused_and_it_is_said_where_to_turn() -> None:
    """NHS/PSA/W/2016/011: such insulin has its own device."""
    going = walk(PEN, GIVEN, to="pen-strength").read("five hundred units per milliliter")
    assert going.branch == "concentrated"
    assert "Ask pharmacist and prescriber" in " ".join(going.walker.texts())
    assert going.to_end().outcome.startswith("Insulin of 500 units per mL")


def test_the_second_person_reads_order_label_and_window_without_a_hint() -> None:
    """ISMP Canada 2019, NPSA 2010: units, read apart, compared afterwards."""
    checks = {step.id: step.of for step in PEN.steps if isinstance(step, CheckStep)}
    assert checks == {"double-check": "ordered-dose", "checker-kind": "label-kind", "checker-sees": "dial"}
    for check in checks:
        asked = walk(PEN, GIVEN, to=check).walker.texts()[-1]
        assert asked.startswith("Checker, ")
        assert not any(told in asked for told in ("18", "eighteen", "rapid"))
    assert walk(PEN, GIVEN, to="double-check").check("eighty units").branch == "figures-disagree"
    assert walk(PEN, GIVEN, to="checker-kind").read("long acting").branch == "label-differs"
    assert walk(PEN, GIVEN, to="checker-sees").read("eighty units").branch == "window-differs"


def test_what_the_performer_reads_is_held_against_the_order() -> None:
    """NPSA 2010: pens of other kinds, and doses dialed wrongly."""
    assert walk(PEN, GIVEN, to="label-kind").read("long acting").branch == "label-differs"
    at = walk(PEN, GIVEN, to="dial").read("nineteen units")
    assert at.branch == "dial-differs"
    assert at.out_of("dial-differs").step == "dial"


def test_the_figure_to_dial_is_not_said_beforehand() -> None:
    """ISMP Canada 2019, from the same thought: what is heard is repeated, not read."""
    going = walk(PEN, GIVEN, to="dial")
    asked = " ".join(going.walker.texts() + [step.hint or "" for step in PEN.steps if step.id == "dial"])
    assert not any(told in asked for told in ("18", "eighteen"))


def test_the_performer_cannot_check_the_own_figure() -> None:
    """ISMP Canada 2019: a second person works apart."""
    going = walk(PEN, GIVEN, to="double-check").say("four one")
    assert going.step == "double-check"
    assert "Another person" in going.walker.texts()[0]


def test_policy_may_do_without_the_second_person() -> None:
    """Local policy: some places ask for two people, some do not."""
    alone = with_policy("insulin-pen", second_person="not required")
    going = walk(alone, GIVEN)
    assert going.status == "finished"
    assert not {"double-check", "checker-kind", "checker-sees"} & set(going.asked)
    assert walk(alone, GIVEN, to="dial").read("nineteen units").branch == "dial-differs"

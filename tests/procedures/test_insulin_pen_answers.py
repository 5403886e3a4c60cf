"""Insulin by pen: how answers are held against each other, and who reads the dose again.

Sources as in `test_insulin_pen.py`: what stands there as read or from memory does so here.
"""

from companion.procedure.model import CheckStep
from tests.procedures.insulin import PEN
from tests.procedures.insulin import PEN_GIVEN as GIVEN
from tests.procedures.library import with_policy
from tests.procedures.walking import walk


def test_a_cloudy_kind_is_mixed_once_more_right_before_the_needle() -> None:
    """Frid 2016, FIT UK 2016: it settles again while the pen is checked."""
    going = walk(PEN, GIVEN | {"ordered-kind": "ready mixed", "look-at-insulin": "evenly cloudy"}, to="attach-needle")
    assert going.done[-1] == "mix-again"
    assert "mix-again" not in walk(PEN, GIVEN).asked


def test_a_missing_meal_is_asked_about_and_basal_insulin_is_not_simply_dropped() -> None:
    """JBDS 01: insulin that is due is looked at again, not left out."""
    at = walk(PEN, GIVEN, to="meal").say("fasting or vomiting")
    assert at.step == "meal-call"
    given = at.fork().say("dose is confirmed")
    assert given.step == "meal" and given.say("prescriber wants it given").step == "site"
    assert at.fork().say("order was changed").branch == "order-unclear"
    held = at.say("held for now").to_end()
    assert "what is given instead" in held.outcome


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

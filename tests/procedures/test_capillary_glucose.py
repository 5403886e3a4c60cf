"""Capillary blood glucose: walked to its end, into every branch, and held against published guidance.

Read: Open RN 19.8, Royal Marsden 14.8 and CDC as the project's notes quote them (two identifiers, washed hands, strips
in date, control in range, display unit, lancing device for one person, shared meter cleaned), Hortensius 2011 (washed
hands and the first drop), ADA (70 and 54 mg/dL). The unit's factor: 180.156 g/mol.
"""

from decimal import Decimal

import pytest

from tests.procedures.library import (
    Endings,
    check_is_clean,
    comes_before,
    critical,
    phrases_can_be_told_apart,
    procedure,
    says_why_and_by_whom,
    with_policy,
)
from tests.procedures.walking import walk

METER = procedure("capillary-glucose")
# The walker's day is 4 March 2030.
GIVEN = {
    "strip-expiry": "june twenty thirty one",
    "strips-opened": "first of march twenty thirty",
    "finger": "left ring finger",
    "glucose": "one hundred forty milligrams per deciliter",
}
MMOL = {
    "glucose_unit": "mmol/L",
    "glucose_least": "1",
    "glucose_most": "33",
    "glucose_by": "0.1",
    "low_glucose_limit": "4",
    "very_low_limit": "3",
    "high_glucose_limit": "16",
}
ENDINGS = {
    "refused": "abandon",
    "not-now": "again request",
    "later": "abandon",
    "not-the-patient": "abandon",
    "meter-unfit": "again gather",
    "strips-unfit": "again gather",
    "vein-instead": "abandon",
    "special-care": "return",
    "hurry": "return",
    "no-washing": "return",
    "finger-unfit": "again finger",
    "little-blood": "again finger",
    "meter-message": "again finger",
    "out-of-range-low": "abandon",
    "out-of-range-high": "again wash-finger",
    "very-low": "abandon",
    "low": "abandon",
    "high": "again wash-finger",
    "high-confirmed": "abandon",
    "doubtful": "again wash-finger",
    "bleeding": "return",
    "contaminated": "again hands-before-gloves",
    "needle-stick": "abandon",
    "fainting": "return",
    "fainting-pricked": "again hands-before-gloves",
    "emergency": "abandon",
    "called-away": "return",
    "called-away-open": "again wash-finger",
}
HOW = Endings(METER, GIVEN)


def test_the_file_is_clean() -> None:
    check_is_clean("capillary-glucose")
    says_why_and_by_whom(METER)
    phrases_can_be_told_apart(METER)


def test_it_is_walked_to_the_signature() -> None:
    going = walk(METER, GIVEN)
    assert going.status == "finished"
    assert going.done == [step.id for step in METER.steps]
    assert going.value("glucose") == "140 mg/dL"


@pytest.mark.parametrize(("branch", "ending"), ENDINGS.items())
def test_each_branch_ends_as_it_should(branch: str, ending: str) -> None:
    assert HOW.of(branch) == {ending}


def test_every_branch_is_among_them() -> None:
    assert set(ENDINGS) == {branch.id for branch in METER.branches}


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("control", "strip-in"),  # Open RN 19.8, Royal Marsden 14.8
        ("strip-expiry", "strip-in"),
        ("strips-opened", "strip-in"),
        ("unit-shown", "glucose"),  # Royal Marsden 14.8
        ("hands-before-patient", "identify"),  # WHO 2009, moment 1
        ("identify", "prick"),  # NPSG.01.01.01
        ("agreement", "prick"),  # common practice
        ("wash-finger", "prick"),  # Open RN 19.8; Hortensius 2011
        ("hands-before-gloves", "gloves"),  # WHO 2009
        ("gloves", "prick"),  # CDC
        ("prick", "lancet-away"),  # CDC
        ("lancet-away", "drop-forms"),
        ("fits", "document"),  # Royal Marsden 14.8: what does not fit is measured anew
        ("clean-meter", "gloves-off"),  # CDC
        ("clean-meter", "sign"),
        ("gloves-off", "hands-after"),  # WHO 2009
        ("document", "sign"),
    ],
)
def test_what_must_come_before_what(first: str, then: str) -> None:
    assert comes_before(METER, first, then)


def test_what_a_record_would_not_forgive_is_critical() -> None:
    """Common practice: identity, control, unit, strips, gloves, lancet, figure, cleaning, record."""
    assert critical(METER) >= {
        "request", "meter-fit", "control", "unit-shown", "strip-expiry", "strips-opened", "identify", "agreement",
        "wash-finger", "gloves", "prick", "lancet-away", "fill-strip", "glucose", "fits", "clean-meter", "meter-wet",
        "hands-after", "document", "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("figure", "branch"),
    [
        ("seventy", None),
        ("sixty nine", "low"),
        ("fifty four", "low"),
        ("fifty three", "very-low"),
        ("three hundred", None),
        ("three hundred one", "high"),
    ],
)
def test_the_limits_are_those_of_the_levels(figure: str, branch: str | None) -> None:
    """ADA: below 70 mg/dL is low, below 54 is level 2. Above 300 is a setting, common practice."""
    assert walk(METER, GIVEN, to="glucose").read(f"{figure} milligrams per deciliter").branch == branch


@pytest.mark.parametrize(
    ("figure", "branch"),
    [("four millimoles", None), ("three point nine millimoles", "low"), ("two point nine millimoles", "very-low")],
)
def test_a_ward_that_uses_the_other_unit_sets_its_own_limits(figure: str, branch: str | None) -> None:
    """JBDS 01: below 4.0 mmol/L in hospital; ADA level 2 is 54 mg/dL, 54 / 18.0156 = 2.997 mmol/L."""
    local = with_policy("capillary-glucose", **MMOL)
    script = GIVEN | {"glucose": "seven point eight millimoles per liter"}
    assert walk(local, script, to="glucose").read(f"{figure} per liter").branch == branch
    assert round(Decimal(54) / Decimal("18.0156"), 3) == Decimal("2.997")


def test_the_other_unit_cannot_be_said() -> None:
    """Seven in mmol/L is 126 in mg/dL: a figure is taken in the unit of the chart only."""
    going = walk(METER, GIVEN, to="glucose")
    allowed = going.walker.machine.allowed(going.walker.state)
    assert "one hundred twenty six milligrams per deciliter" in allowed
    assert not any("millimole" in phrase for phrase in allowed)


def test_no_figure_is_reached_with_a_control_out_of_range() -> None:
    """Open RN 19.8: the control must be in range; another meter is checked from the beginning."""
    going = walk(METER, GIVEN | {"control": "control is out"})
    assert going.branches == ["meter-unfit"]
    assert going.asked.count("gather") == 2
    assert going.asked.index("glucose") > going.asked.index("meter-aside")
    assert going.status == "finished"


@pytest.mark.parametrize(("day", "branch"), [("fourth of december", None), ("third of december", "strips-unfit")])
def test_an_open_pot_keeps_for_ninety_days(day: str, branch: str | None) -> None:
    """Makers give 90 to 180 days, a setting. 4 December 2029 to 4 March 2030: 27 + 31 + 28 + 4 = 90 days."""
    assert walk(METER, GIVEN, to="strips-opened").read(f"{day} twenty twenty nine").branch == branch


def test_a_high_figure_counts_only_the_second_time() -> None:
    """Common practice: measured anew with washed hands; sugar on the skin makes it high (Hortensius 2011)."""
    high = "three hundred fifty milligrams per deciliter"
    sugar = walk(METER, GIVEN | {"glucose": (high, GIVEN["glucose"])})
    assert (sugar.status, sugar.branches, sugar.asked.count("wash-finger")) == ("finished", ["high"], 2)
    truly = walk(METER, GIVEN | {"glucose": high, "high-again": ("it is the first", "second one already")})
    assert (truly.status, truly.branches) == ("abandoned", ["high", "high", "high-confirmed"])
    assert truly.outcome.startswith("The glucose is high and was confirmed")


def test_a_low_figure_is_treated_before_anything_else() -> None:
    """ADA: 15 to 20 g; nothing by mouth for somebody who cannot swallow (JBDS 01)."""
    going = walk(METER, GIVEN, to="glucose").read("sixty milligrams per deciliter")
    assert going.step == "low-treat"
    said = " ".join(going.walker.texts())
    assert "15 g" in said
    assert "nothing by mouth" in said


def test_two_messages_in_a_row_send_blood_to_the_laboratory() -> None:
    going = walk(METER, GIVEN, to="fill-strip").say("meter shows an error").to("fill-strip")
    going.say("meter shows an error", "came back again").out_of("vein-instead")
    assert (going.status, going.branches) == ("abandoned", ["meter-message", "meter-message", "vein-instead"])


def test_a_lancet_is_never_used_again() -> None:
    """CDC: after every prick the lancet goes into the container before the next step."""
    order = [step.id for step in METER.steps]
    assert order[order.index("prick") + 1] == "lancet-away"
    again = {branch.ends.step for branch in METER.branches if branch.ends.do == "again"}
    assert all(order.index(step) < order.index("strip-in") for step in again if step is not None)


def test_which_drop_is_taken_is_a_setting() -> None:
    """Hortensius 2011: the first after washing; others take the second."""
    assert "The first drop" in " ".join(walk(METER, GIVEN, to="drop-forms").walker.texts())
    local = with_policy("capillary-glucose", drop="second")
    assert "The second drop" in " ".join(walk(local, GIVEN, to="drop-forms").walker.texts())

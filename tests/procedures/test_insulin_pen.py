"""Insulin by pen: walked to its end, into every branch, and held against published guidance.

Read: Frid 2016 (4 mm at a right angle, count of ten, 1 cm), NHS/PSA/W/2016/011 (no syringe into a pen), NPSA 2010,
ISMP Canada 2019, NPSG.01.01.01, ADA. Priming with 2 units, days in use and storage: makers' leaflets as public
teaching pages quote them. One pen for one person: CDC, from memory.
"""

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

PEN = procedure("insulin-pen")
# The walker's day is 4 March 2030.
GIVEN = {
    "ordered-kind": "rapid acting",
    "ordered-dose": "eighteen units",
    "glucose": "one hundred forty milligrams per deciliter",
    "pen-strength": "one hundred units per milliliter",
    "expiry": "june twenty thirty one",
    "opened-on": "first of march twenty thirty",
    "site": "left abdomen",
    "low-again": "ninety milligrams per deciliter",
    "late-again": "ninety milligrams per deciliter",
}
ENDINGS = {
    "refused": "abandon",
    "not-the-patient": "abandon",
    "allergy": "abandon",
    "order-unclear": "again order",
    "held": "abandon",
    "ask-prescriber": "abandon",
    "label-differs": "again gather",
    "pen-unfit": "again gather",
    "cloudy": "return",
    "pen-empty": "again gather",
    "figures-disagree": "again dose-figure",
    "needle-unfit": "return",
    "no-drop": "return",
    "contaminated": "again gather",
    "site-unfit": "again site",
    "bleeding-or-bruise": "return",
    "needle-stick": "abandon",
    "low-glucose": "abandon",
    "low-afterwards": "return",
    "emergency": "abandon",
    "fainting": "return",
    "fainting-with-dose": "again gather",
    "interrupted-dose": "abandon",
    "called-away": "return",
    "called-away-with-dose": "again gather",
}
HOW = Endings(PEN, GIVEN)


def test_the_file_is_clean() -> None:
    check_is_clean("insulin-pen")
    says_why_and_by_whom(PEN)
    phrases_can_be_told_apart(PEN)


def test_it_is_walked_to_the_signature() -> None:
    going = walk(PEN, GIVEN)
    assert going.status == "finished"
    assert going.done == [step.id for step in PEN.steps]
    assert going.value("dose-figure") == "18 units"
    assert going.walker.state.checker == "27"


@pytest.mark.parametrize(("branch", "ending"), ENDINGS.items())
def test_each_branch_ends_as_it_should(branch: str, ending: str) -> None:
    assert HOW.of(branch) == {ending}


def test_every_branch_is_among_them() -> None:
    assert set(ENDINGS) == {branch.id for branch in PEN.branches}


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("hands-before-preparing", "wipe-seal"),  # WHO 2009, moment 2
        ("seal-dry", "attach-needle"),  # alcohol dries before the rubber is pierced: WHO toolkit for vials
        ("attach-needle", "prime"),  # makers' leaflets: primed with the needle that injects
        ("prime-drop", "dial"),  # the dose is dialed after priming, or it would be shot into the air
        ("dose-figure", "double-check"),  # ISMP Canada 2019
        ("double-check", "dial"),
        ("dial", "checker-sees"),
        ("checker-sees", "insert-needle"),
        ("identify-again", "insert-needle"),  # NPSG.01.01.01
        ("glucose", "insert-needle"),  # ADA
        ("inject", "hold"),  # Frid 2016
        ("hold", "withdraw"),
        ("withdraw", "sharps"),  # WHO toolkit
        ("sharps", "pen-away"),  # FIT UK: no pen is stored with its needle on
        ("gloves-off", "hands-after"),  # WHO toolkit
        ("document", "sign"),
    ],
)
def test_what_must_come_before_what(first: str, then: str) -> None:
    assert comes_before(PEN, first, then)


def test_what_a_record_would_not_forgive_is_critical() -> None:
    """Common practice: identity, ownership, dose, checks, priming, the count, disposal, signature."""
    assert critical(PEN) >= {
        "order", "ordered-dose", "identify", "allergies", "glucose", "label-first", "pen-strength", "expiry",
        "opened-on", "dose-figure", "double-check", "needle-new", "prime", "prime-drop", "dial", "label-second",
        "checker-sees", "identify-again", "label-third", "site-fit", "insert-needle", "inject", "hold", "withdraw",
        "sharps", "pen-away", "document", "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "value", "source"),
    [
        ("hold-time", "10 s", "Frid 2016: count to ten after full travel"),
        ("needle-length", "4", "Frid 2016: 4 mm at a right angle in all adults"),
        ("prime-units", "2", "makers' leaflets, as public teaching pages quote them"),
        ("oldest-opening", "-27", "makers' leaflets: discarded after 28 days for most insulins; USP 797"),
        ("identifiers", "2", "NPSG.01.01.01"),
        ("low-glucose-limit", "70", "ADA"),
        ("carbohydrate", "15", "ADA"),
        ("site-distance", "1", "Frid 2016"),
        ("rub-time", "20 s", "WHO 2009"),
    ],
)
def test_settings_hold_published_figures(setting: str, value: str, source: str) -> None:
    assert {each.id: each.value for each in PEN.settings}[setting] == value, source


def test_the_needle_stays_in_for_ten_seconds() -> None:
    """Frid 2016: pen, count to 10 after full travel."""
    going = walk(PEN, GIVEN, to="hold")
    going.wait(9).say("time was kept")
    assert going.step == "hold"
    assert "Not yet" in going.walker.texts()[0]
    going.wait(1).say("time was kept")
    assert going.step == "withdraw"


@pytest.mark.parametrize(("dose", "branch"), [("fifty units", None), ("fifty one units", "order-unclear")])
def test_a_large_dose_is_asked_about(dose: str, branch: str | None) -> None:
    """Common practice, a setting: above 50 units the prescriber is asked."""
    assert walk(PEN, GIVEN, to="ordered-dose").read(dose).branch == branch


@pytest.mark.parametrize(("day", "branch"), [("fifth of february", None), ("fourth of february", "pen-unfit")])
def test_a_pen_is_used_for_28_days(day: str, branch: str | None) -> None:
    """4 February to 4 March 2030 are 28 days, counted by hand: on that day it is discarded."""
    assert walk(PEN, GIVEN, to="opened-on").read(f"{day} twenty thirty").branch == branch


def test_units_are_dialed_as_ordered_whatever_the_strength() -> None:
    """NPSA 2010, NHS/PSA/W/2016/011: the dial of a pen counts units of its own insulin, so nothing is converted."""
    going = walk(PEN, GIVEN | {"pen-strength": "two hundred units per milliliter"})
    assert going.value("dose-figure") == "18 units"
    working = [say.text for say in going.walker.says if "on the dial" in say.text]
    assert working == [
        "The dial of a pen counts units of the insulin inside it, 200 units per mL or any other, so 18 units on the "
        "order is 18 units on the dial, and nothing is converted."
    ]
    halved = walk(PEN, GIVEN | {"pen-strength": "two hundred units per milliliter"}, to="dose-figure")
    halved.figure("nine units").check("nine units")
    assert halved.branch == "figures-disagree"


def test_the_performer_cannot_check_the_own_figure() -> None:
    """ISMP Canada 2019: a second person works apart."""
    going = walk(PEN, GIVEN, to="double-check").say("four one")
    assert going.step == "double-check"
    assert "Another person" in going.walker.texts()[0]


def test_neither_figure_is_said_before_both_are_in() -> None:
    """ISMP Canada 2019: neither knows the other's result."""
    going = walk(PEN, GIVEN, to="dose-figure")
    said = len(going.walker.says)
    going.figure("nineteen units")
    assert going.step == "double-check"
    assert not any("19" in say.text or "nineteen" in say.text for say in going.walker.says[said:])
    going.check("eighteen units")
    assert going.branch == "figures-disagree"


def test_no_drop_means_no_dose() -> None:
    """Makers' leaflets: primed until a drop comes, then another needle, then another pen."""
    going = walk(PEN, GIVEN | {"prime-drop": ("nothing came out", "nothing came out")}, to="dial")
    assert going.branches == ["no-drop", "no-drop"]
    faulty = walk(PEN, GIVEN | {"prime-drop": "nothing came out", "prime-again": "pen is faulty"})
    assert faulty.branches == ["no-drop", "pen-unfit"]
    assert faulty.status == "finished"
    assert faulty.asked.count("gather") == 2


def test_local_policy_sets_the_count_and_the_needle() -> None:
    """Makers give 5 to 10 seconds; some adults get a longer needle with a lifted fold (Frid 2016)."""
    local = with_policy("insulin-pen", hold_time="6 s", needle_length="6", fold="asked for")
    going = walk(local, GIVEN, to="hold")
    assert "6 mm" in " ".join(say.text for say in going.walker.says)
    assert going.wait(6).say("time was kept").step == "withdraw"

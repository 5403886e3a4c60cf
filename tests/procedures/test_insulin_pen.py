"""Insulin by pen: walked to its end, into every branch, and held against published guidance.

Read: Frid 2016 (4 mm at a right angle, count of ten, 1 cm), NHS/PSA/W/2016/011 (no syringe into a pen), NPSA 2010,
ISMP Canada 2019, ADA. Priming with 2 units, days in use, largest dose and storage: makers' leaflets as public teaching
pages quote them. From memory: CDC on one pen for one person, NPSG.01.01.01, JBDS 01 and 02, Resuscitation Council UK
2021, ISMP 2017.
"""

import pytest

from tests.procedures import insulin
from tests.procedures.insulin import PEN
from tests.procedures.library import (
    Endings,
    check_is_clean,
    comes_before,
    critical,
    phrases_can_be_told_apart,
    says_why_and_by_whom,
    with_policy,
)
from tests.procedures.walking import walk

GIVEN = insulin.PEN_GIVEN
ENDINGS = {
    **insulin.ENDINGS,
    "strong-pen": "return",
    "pen-unfit": "again gather",
    "pen-empty": "again gather",
    "figures-disagree": "again ordered-dose",
    "dial-differs": "again dial",
    "window-differs": "again dial",
    "needle-unfit": "return",
    "no-drop": "return",
    "contaminated": "again hands-before-preparing",
    "skin-soiled": "return",
    "called-away-with-dose": "again hands-before-patient",
}
NOT_DUE = {"mix", "mix-again", "gloves", "gloves-off", "lift-fold"}
"""With a clear kind, a short needle, and no gloves asked for."""
HOW = Endings(PEN, GIVEN)


def test_the_file_is_clean() -> None:
    check_is_clean("insulin-pen")
    says_why_and_by_whom(PEN)
    phrases_can_be_told_apart(PEN)


def test_it_is_walked_to_the_signature() -> None:
    going = walk(PEN, GIVEN)
    assert going.status == "finished"
    assert going.done == [step.id for step in PEN.steps if step.id not in NOT_DUE]
    assert going.value("dial") == "18 units"
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
        ("double-check", "dial"),  # ISMP Canada 2019
        ("dial", "checker-sees"),
        ("checker-sees", "insert-needle"),
        ("identify", "insert-needle"),  # NPSG.01.01.01
        ("glucose", "insert-needle"),  # ADA
        ("last-dose", "insert-needle"),  # ISMP 2017
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


def test_signs_are_asked_for_once_the_figure_is_known() -> None:
    """Common practice: signs at a high figure are not those of a low one, and get no sugar."""
    ids = [step.id for step in PEN.steps]
    assert ids.index("glucose") < ids.index("low-signs")


def test_no_bare_needle_waits_for_anything_but_the_dose() -> None:
    """Common practice, after Frid 2016: patient, place and hands are ready before the needle goes on."""
    ids = [step.id for step in PEN.steps]
    between = set(ids[ids.index("attach-needle") + 1 : ids.index("insert-needle")])
    assert between == {"prime", "prime-drop", "dial", "checker-sees", "label-third", "lift-fold"}
    for first in ("identify", "site-fit", "hands-before-preparing"):
        assert comes_before(PEN, first, "attach-needle")


def test_what_a_record_would_not_forgive_is_critical() -> None:
    """Common practice: identity, ownership, dose, checks, priming, the count, disposal, signature."""
    assert critical(PEN) >= {
        "order", "last-dose", "ordered-dose", "identify", "allergies", "glucose", "meal", "label-first", "label-kind",
        "pen-strength", "expiry", "opened-on", "mix", "mix-again", "double-check", "checker-kind", "needle-new",
        "prime", "prime-drop", "dial", "label-second", "checker-sees", "label-third", "site-fit", "insert-needle",
        "inject", "hold", "withdraw", "sharps", "watch-site", "pen-away", "document", "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "value", "source"),
    [
        ("hold-time", "10 s", "Frid 2016: count to ten after full travel"),
        ("needle-length", "4", "Frid 2016: 4 mm at a right angle in all adults"),
        ("prime-units", "2", "makers' leaflets, as public teaching pages quote them"),
        ("device-largest", "60", "makers' leaflets, from memory: 60 in many pens, 80 or 160 in some"),
        ("oldest-opening", "-27", "makers' leaflets: discarded after 28 days for most insulins; USP 797"),
        ("identifiers", "2", "NPSG.01.01.01"),
        ("low-glucose-limit", "70", "ADA"),
        ("carbohydrate", "15", "ADA"),
        ("epinephrine", "0.5 mg", "Resuscitation Council UK 2021, from memory"),
        ("epinephrine-repeat", "5 min", "Resuscitation Council UK 2021, from memory"),
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


@pytest.mark.parametrize(("day", "branch"), [("fifth of february", None), ("fourth of february", "pen-unfit")])
def test_a_pen_is_used_for_28_days(day: str, branch: str | None) -> None:
    """4 February to 4 March 2030 are 28 days, counted by hand: on that day it is discarded."""
    assert walk(PEN, GIVEN, to="opened-on").read(f"{day} twenty thirty").branch == branch


def test_a_day_printed_on_the_pen_counts() -> None:
    """CDC, from memory: a month alone runs to its end, a day counts as printed. It is 4 March 2030."""
    at = walk(PEN, GIVEN, to="expiry")
    assert at.fork().read("march twenty thirty").branch is None
    assert at.read("march third twenty thirty").branch == "pen-unfit"


def test_no_drop_means_no_dose() -> None:
    """Makers' leaflets: primed until a drop comes, then another needle, then another pen."""
    going = walk(PEN, GIVEN | {"prime-drop": ("nothing came out", "nothing came out")}, to="dial")
    assert going.branches == ["no-drop", "no-drop"]
    faulty = walk(PEN, GIVEN | {"prime-drop": "nothing came out", "prime-again": "pen is faulty"})
    assert faulty.branches == ["no-drop", "pen-unfit"]
    assert faulty.status == "finished"
    assert faulty.asked.count("gather") == 2


def test_a_touched_needle_is_changed_and_a_soiled_pen_is_given_up() -> None:
    """WHO toolkit 2010: what was touched is discarded. CDC, from memory: blood can get back into a pen."""
    at = walk(PEN, GIVEN, to="prime").say("needle was touched")
    assert at.fork().say("old needle is gone").step == "hands-before-preparing"
    assert at.say("touched somebody else").branch == "pen-unfit"


def test_local_policy_sets_the_count_the_needle_and_the_gloves() -> None:
    """Makers give 5 to 10 seconds; some adults get a longer needle with a lifted fold (Frid 2016); gloves: WHO 2010."""
    local = with_policy("insulin-pen", hold_time="6 s", needle_length="6", fold="asked for", glove_use="asked for")
    going = walk(local, GIVEN, to="hold")
    assert "6 mm" in " ".join(say.text for say in going.walker.says)
    assert {"lift-fold", "gloves"} <= set(going.done)
    assert going.wait(6).say("time was kept").step == "withdraw"
    assert "gloves-off" in going.to_end().done

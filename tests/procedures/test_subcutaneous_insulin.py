"""Insulin from a vial: walked to its end, into every branch, and held against published guidance.

Read: Frid 2016, NPSA 2010, NHS/PSA/W/2016/011, ISMP Canada 2019, ADA, WHO 2009, USP 797. From memory: JBDS 01 and 02,
Resuscitation Council UK 2021, ISMP 2017.
"""

import pytest

from tests.procedures.library import (
    Endings,
    check_is_clean,
    phrases_can_be_told_apart,
    procedure,
    says_why_and_by_whom,
    with_policy,
)
from tests.procedures.walking import walk

VIAL = procedure("subcutaneous-insulin")
NINETY = "ninety milligrams per deciliter"
# The walker's day is 4 March 2030.
GIVEN = {
    "ordered-kind": "rapid acting",
    "ordered-dose": "eighteen units",
    "glucose": "one hundred forty milligrams per deciliter",
    "stock-strength": "one hundred units per milliliter",
    "syringe-scale": "one hundred units per milliliter",
    "expiry": "june twenty thirty one",
    "opened-on": "first of march twenty thirty",
    "site": "left abdomen",
    "low-again": NINETY,
    "late-again": NINETY,
    "signs-glucose": NINETY,
    "faint-glucose": NINETY,
    "late-faint-glucose": NINETY,
    "error-glucose": NINETY,
    "high-ketones": "zero point four millimoles per liter",
}
ENDINGS = {
    "refused": "abandon",
    "not-the-patient": "abandon",
    "allergy": "abandon",
    "order-unclear": "again order",
    "held": "abandon",
    "ask-prescriber": "return",
    "device-too-small": "abandon",
    "wait-for-time": "return",
    "already-given": "abandon",
    "dose-unfamiliar": "return",
    "large-dose": "return",
    "figure-too-old": "return",
    "high-glucose": "return",
    "ketones-high": "abandon",
    "meter-high": "return",
    "signs-checked": "return",
    "meal-kind": "again order",
    "label-differs": "again gather",
    "strength-differs": "again gather",
    "concentrated": "abandon",
    "vial-unfit": "again gather",
    "cloudy": "return",
    "figures-disagree": "again volume",
    "drawn-differs": "again draw-dose",
    "scale-differs": "again drawn",
    "syringe-unfit": "again gather",
    "stopper-late": "again wipe-stopper",
    "bubbles-seen": "return",
    "contaminated": "again gather",
    "site-unfit": "again site",
    "bleeding-or-bruise": "return",
    "low-glucose": "again hands-before-patient",
    "low-afterwards": "return",
    "still-low": "return",
    "emergency": "abandon",
    "anaphylaxis": "abandon",
    "no-better": "return",
    "needle-stick": "abandon",
    "fainting": "again hands-before-patient",
    "fainting-afterwards": "return",
    "interrupted-dose": "abandon",
    "error-noticed": "return",
    "called-away": "return",
    "called-away-with-dose": "again gather",
}
HOW = Endings(VIAL, GIVEN)


def test_the_file_is_clean() -> None:
    check_is_clean("subcutaneous-insulin")
    says_why_and_by_whom(VIAL)
    phrases_can_be_told_apart(VIAL)


def test_it_is_walked_to_the_signature() -> None:
    going = walk(VIAL, GIVEN)
    assert going.status == "finished"
    assert going.done == [step.id for step in VIAL.steps if step.id != "mix"]
    assert going.value("volume") == "18 units"
    assert going.walker.state.checker == "27"


@pytest.mark.parametrize(("branch", "ending"), ENDINGS.items())
def test_each_branch_ends_as_it_should(branch: str, ending: str) -> None:
    assert HOW.of(branch) == {ending}


def test_every_branch_is_among_them() -> None:
    assert set(ENDINGS) == {branch.id for branch in VIAL.branches}


@pytest.mark.parametrize(
    ("kind", "look", "branch"),
    [
        ("rapid acting", "evenly cloudy", "vial-unfit"),
        ("long acting", "evenly cloudy", "vial-unfit"),
        ("ready mixed", "clear as water", "vial-unfit"),
        ("intermediate acting", "evenly cloudy", None),
    ],
)
def test_how_it_looks_is_held_against_the_kind(kind: str, look: str, branch: str | None) -> None:
    """FIT UK 2016: cloudy kinds are mixed; those that act fast are clear (common practice)."""
    going = walk(VIAL, GIVEN | {"ordered-kind": kind}, to="look-at-insulin").say(look)
    assert going.branch == branch
    assert ("mix" in going.done) == (kind in ("intermediate acting", "ready mixed"))


@pytest.mark.parametrize(("kind", "branch"), [("rapid acting", "meal-kind"), ("long acting", None)])
def test_meal_insulin_is_no_basal_dose(kind: str, branch: str | None) -> None:
    """NPSA 2010, ISMP 2017 (from memory): kinds for meal and night are mixed up."""
    assert walk(VIAL, GIVEN | {"ordered-kind": kind}, to="meal").say("basal dose").branch == branch


def test_a_high_glucose_is_asked_about_and_then_stands() -> None:
    """JBDS 02, from memory: 3.0 mmol/L and more is the range of ketoacidosis; the limit is a setting."""
    high = "three hundred milligrams per deciliter"
    going = walk(VIAL, GIVEN, to="glucose").read(high)
    assert (going.branch, going.step) == ("high-glucose", "high-ketones")
    ill = going.fork().read("three point one millimoles per liter")
    assert ill.branch == "ketones-high"
    going.out_of("high-glucose").read(high)
    assert going.step == "low-signs"
    assert going.walker.state.done[-1].note == "confirmed after high-glucose"
    without = with_policy("subcutaneous-insulin", ketone_check="not required")
    assert walk(without, GIVEN, to="glucose").read(high).step == "high-look"


def test_a_meter_without_a_figure_can_be_told() -> None:
    """Common practice: HI and LO stand for more and less than a meter shows."""
    at = walk(VIAL, GIVEN, to="glucose")
    assert at.fork().say("high on the meter", "still above its range").branch == "ketones-high"
    assert at.say("low on the meter").step == "low-treat"


def test_a_low_glucose_is_treated_and_measured_again_before_anything_is_decided() -> None:
    """ADA 2025; JBDS 01, from memory: three rounds, then more is called for; insulin that is due is not left out."""
    going = walk(VIAL, GIVEN, to="glucose").read("sixty nine milligrams per deciliter")
    assert going.step == "low-treat"
    assert going.to("low-decide").fork().say("dose is confirmed").step == "hands-before-patient"
    assert going.say("held for now").branch == "held"
    low = walk(VIAL, GIVEN | {"low-again": ("sixty milligrams per deciliter",)}, to="glucose")
    low.read("sixty milligrams per deciliter").to("emergency-first")
    assert low.asked.count("still-treat") == 2


def test_signs_with_a_figure_that_is_not_low_get_no_sugar() -> None:
    """ADA 2025: what is below 70 mg/dL is treated."""
    going = walk(VIAL, GIVEN, to="low-signs").say("warning signs present").out_of("signs-checked")
    assert "low-treat" not in going.asked
    assert going.say("signs are explained").step == "meal"


def test_a_large_dose_that_is_meant_can_be_given_and_is_shown_as_confirmed() -> None:
    """Common practice: above a setting the prescriber is asked; some patients need such doses."""
    going = walk(VIAL, GIVEN | {"ordered-dose": "sixty units"})
    assert (going.status, going.value("volume")) == ("finished", "60 units")
    assert [entry.note for entry in going.walker.state.done if entry.step == "ordered-dose"] == [
        "confirmed after large-dose"
    ]


def test_more_than_the_syringe_holds_is_told_at_the_order() -> None:
    """ISO 8537: 1 mL marked for 100 units per mL holds 100 units."""
    at = walk(VIAL, GIVEN, to="ordered-dose")
    assert at.fork().read("one hundred one units").branch == "device-too-small"
    assert at.read("one hundred units").branch == "large-dose"


@pytest.mark.parametrize("strength", ["two hundred", "five hundred"])
def test_strong_insulin_is_refused_and_it_is_said_where_to_turn(strength: str) -> None:
    """NHS/PSA/W/2016/011: insulin of more than 100 units per mL is not for a syringe marked for 100."""
    going = walk(VIAL, GIVEN, to="stock-strength").read(f"{strength} units per milliliter")
    assert going.branch == "concentrated"
    assert "pharmacist" in " ".join(going.walker.texts())
    assert going.to_end().outcome.startswith("Insulin of more than 100 units per mL")


def test_the_second_person_reads_scale_and_label_without_a_hint() -> None:
    """ISMP Canada 2019, NPSA 2010: units, read apart, compared afterwards."""
    going = walk(VIAL, GIVEN, to="checker-sees")
    asked = " ".join(going.walker.texts())
    assert "18" not in asked and "eighteen" not in asked
    assert going.fork().read("eighty units").branch == "scale-differs"
    assert going.read("eighteen units").step == "label-second"
    assert walk(VIAL, GIVEN, to="checker-kind").read("long acting").branch == "label-differs"
    assert walk(VIAL, GIVEN, to="drawn").read("nineteen units").branch == "drawn-differs"


def test_policy_may_do_without_the_second_person() -> None:
    """Local policy: some places ask for two people, some do not."""
    alone = with_policy("subcutaneous-insulin", second_person="not required")
    going = walk(alone, GIVEN)
    assert going.status == "finished"
    assert not {"double-check", "checker-kind", "checker-sees"} & set(going.asked)
    assert walk(alone, GIVEN, to="volume").figure("nineteen units").branch == "figures-disagree"


def test_too_early_is_waited_for_and_given_already_is_not_given() -> None:
    """Common practice; ISMP 2017, from memory."""
    at = walk(VIAL, GIVEN, to="last-dose")
    assert at.fork().say("too early", "time has come").step == "last-dose"
    assert at.say("last one still acts").to_end().status == "abandoned"


def test_a_day_printed_on_the_vial_counts() -> None:
    """CDC, from memory: a month alone runs to its end, a day counts as printed. It is 4 March 2030."""
    at = walk(VIAL, GIVEN, to="expiry")
    assert at.fork().read("march twenty thirty").branch is None
    assert at.read("march third twenty thirty").branch == "vial-unfit"


@pytest.mark.parametrize("step", [step.id for step in VIAL.steps if step.id != "mix"])
def test_emergency_and_severe_reaction_can_be_told_at_every_step(step: str) -> None:
    """Resuscitation Council UK 2021, from memory: help, breathing, compressions first; epinephrine at once."""
    at = walk(VIAL, GIVEN, to=step)
    first = " ".join(at.fork().say("stopped breathing").walker.texts())
    assert "chest compressions" in first and "only while breathing normally" in first
    assert "0.5 mg epinephrine" in " ".join(at.say("severe reaction").walker.texts())


def test_epinephrine_is_called_for_again_every_five_minutes() -> None:
    """Resuscitation Council UK 2021, from memory: again after 5 minutes if it is no better; after two an expert."""
    going = walk(VIAL, GIVEN, to="watch-site").say("severe reaction", "epinephrine is in").wait(301)
    assert "in the other thigh" in going.walker.heard()[-1] and going.step == "epinephrine-watch"
    assert going.wait(300).step == "no-better-tell"
    assert going.out_of("no-better").step == "epinephrine-watch"


@pytest.mark.parametrize("word", ["needle came out", "stopped breathing", "severe reaction", "needle stick"])
def test_after_the_needle_no_way_out_skips_sharps_hands_and_record(word: str) -> None:
    """WHO toolkit 2010; what was given is written down: common practice."""
    done = set(walk(VIAL, GIVEN, to="inject").say(word).to_end().done)
    assert done & {"emergency-close", "reaction-close", "partly-safe", "stick-safe"}
    assert done & {"emergency-close", "reaction-close", "partly-hands", "stick-wash"}
    assert done & {"emergency-close", "reaction-close", "partly-record", "stick-colleague"}


@pytest.mark.parametrize("step", ["draw-dose", "lift-fold", "document", "low-treat", "partly-report"])
def test_a_needle_stick_can_be_told_wherever_a_needle_is_or_was(step: str) -> None:
    """Kuhar 2013, from memory: washed and reported at once. A colleague takes over the patient: common practice."""
    ways = {"low-treat": ("glucose", "low on the meter"), "partly-report": ("inject", "needle came out")}
    main, word = ways.get(step, (step, ""))
    at = walk(VIAL, GIVEN, to=main)
    if word:
        at.say(word).to(step)
    done = at.say("needle stick").to_end().done
    assert done[-4:] == ["stick-safe", "stick-wash", "stick-colleague", "stick-report"]


def test_an_error_noticed_afterwards_is_told_and_the_rest_is_done() -> None:
    """ISMP 2017, from memory."""
    going = walk(VIAL, GIVEN, to="watch-site").say("wrong insulin given").out_of("error-noticed")
    assert {"error-act", "error-glucose", "error-report"} <= set(going.done)
    assert going.to_end().status == "finished"


def test_a_stopper_left_open_too_long_is_wiped_and_dried_again() -> None:
    """Common practice; WHO toolkit (from memory): wiped and left to dry before it is pierced. The time is a setting."""
    going = walk(VIAL, GIVEN, to="stopper-dry").wait(181)
    assert "The longest time, 3 minutes, has gone by. It goes on with: Stopper open too long." in going.walker.heard()
    going.say("rubber is dry").answer()
    assert going.step == "wipe-stopper"


def test_the_stopper_dries_while_the_syringe_is_looked_at() -> None:
    """Several timers at once: that of the stopper runs out, and is told, at another step."""
    going = walk(VIAL, GIVEN, to="syringe").wait(31)
    assert "Let the stopper dry: the time is up." in going.walker.heard()
    going.answer()
    assert going.step == "stopper-dry" and "The time is already up." in going.walker.texts()

"""Insulin from a vial: walked to its end, into every branch, and held against published guidance.

Read: Frid 2016, NPSA 2010, NHS/PSA/W/2016/011, ISMP Canada 2019, ADA, WHO 2009, USP 797. From memory: JBDS 01 and 02,
Resuscitation Council UK 2021, ISMP 2017.
"""

import pytest

from tests.procedures import insulin
from tests.procedures.insulin import VIAL
from tests.procedures.library import (
    Endings,
    check_is_clean,
    phrases_can_be_told_apart,
    says_why_and_by_whom,
    with_policy,
)
from tests.procedures.walking import walk

GIVEN = insulin.VIAL_GIVEN
ENDINGS = {
    **insulin.ENDINGS,
    "strength-differs": "again gather",
    "vial-unfit": "again gather",
    "figures-disagree": "again volume",
    "drawn-differs": "again draw-dose",
    "scale-differs": "again drawn",
    "syringe-unfit": "again gather",
    "stopper-late": "again wipe-stopper",
    "bubbles-seen": "return",
    "contaminated": "again gather",
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

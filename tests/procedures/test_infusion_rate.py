"""The gravity infusion rate check: walked to its end, into every branch, and held against published figures.

Read: BCcampus 8.6, its first part (a prescriber orders the rate; gravity by clamp and drops; pumps for opioids and
children); Nursing Center pocket card (infiltration); ISMP Canada 2019; MD0904 (the drops depend on the set). From
memory, verify: epic3, 2014 (sets not more often than every 96 hours). That nothing is caught up is common practice.
"""

import pytest

from companion.speech.value_phrases import say_value
from companion.speech.values import Value
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

RATE = procedure("infusion-rate")


def said(figure: str, unit: str) -> str:
    """A figure as it is spoken."""
    return say_value(Value(type="number", text=figure, unit=unit))


# A course handout: 1,000 mL over 8 h are 125 mL/h. MD0904: 125 mL/h with 20 drops/mL are 41.67, so 42 drops/min.
GIVEN = {
    "ordered-volume": "one thousand milliliters",
    "ordered-time": "eight hours",
    "drop-factor": "twenty drops per milliliter",
    "counted": "forty two drops per minute",
    "next-look": "fourteen thirty",
    "phlebitis-score": "score two",
}
ENDINGS = {
    "refused": "abandon",
    "not-the-patient": "abandon",
    "order-unclear": "again order",
    "held": "abandon",
    "pump-needed": "abandon",
    "allergy": "return",
    "bag-unfit": "again bag-label",
    "wrong-fluid": "abandon",
    "infiltration": "abandon",
    "extravasation": "abandon",
    "phlebitis": "abandon",
    "slight-signs": "again site",
    "bleeding": "return",
    "air-in-line": "return",
    "kinked": "return",
    "line-open": "again bag-label",
    "factor-unknown": "return",
    "beyond-gravity": "again bag-label",
    "figures-disagree": "again ordered-volume",
    "second-check-now": "return",
    "behind": "return",
    "ahead": "return",
    "new-order": "again order",
    "bag-low": "again bag-label",
    "not-running": "again count",
    "blocked": "abandon",
    "too-fast": "again count",
    "too-slow": "again count",
    "overload": "abandon",
    "reaction": "abandon",
    "no-better": "return",
    "air-embolism": "abandon",
    "flow-asked": "return",
    "fainting": "return",
    "emergency": "abandon",
    "called-away": "return",
    "called-away-counting": "again level",
}
HOW = Endings(RATE, GIVEN)


def test_the_file_is_clean() -> None:
    check_is_clean("infusion-rate")
    says_why_and_by_whom(RATE)
    phrases_can_be_told_apart(RATE)


def test_it_is_walked_to_the_signature() -> None:
    going = walk(RATE, GIVEN)
    assert going.status == "finished"
    assert going.done == [step.id for step in RATE.steps]
    assert (going.value("flow"), going.value("drops")) == ("125 mL/h", "42 drops/min")


@pytest.mark.parametrize(("branch", "ending"), ENDINGS.items())
def test_each_branch_ends_as_it_should(branch: str, ending: str) -> None:
    assert HOW.of(branch) == {ending}


def test_every_branch_is_among_them() -> None:
    assert set(ENDINGS) == {branch.id for branch in RATE.branches}


def test_a_fast_one_is_turned_down_and_counted_anew() -> None:
    """Common practice: the clamp is turned between counts, and each turn is followed by a count."""
    counts = (said("60", "drops/min"), said("47", "drops/min"), GIVEN["counted"])
    going = walk(RATE, GIVEN | {"counted": counts})
    assert (going.status, going.branches) == ("finished", ["too-fast", "too-fast"])
    assert going.asked.count("count") == 3
    assert going.asked.count("level") == 1


def test_a_slow_one_is_never_caught_up() -> None:
    """Common practice: to the ordered rate and no faster; a slowing flow may be infiltration (Nursing Center)."""
    going = walk(RATE, GIVEN | {"counted": (said("20", "drops/min"), GIVEN["counted"])})
    assert (going.status, going.branches) == ("finished", ["too-slow"])
    texts = " ".join(say.text for say in going.walker.says)
    assert "and no faster" in texts
    assert "Nothing is caught up" in texts


@pytest.mark.parametrize(
    ("answer", "status", "branches"),
    [
        ("ordered rate stays", "finished", ["behind"]),
        ("new rate ordered", "finished", ["behind", "new-order"]),
        ("to end now", "abandoned", ["behind", "held"]),
    ],
)
def test_a_bag_that_is_behind_goes_to_the_prescriber(answer: str, status: str, branches: list[str]) -> None:
    """Common practice: a new rate only by a new order, read from the beginning."""
    going = walk(RATE, GIVEN | {"level": ("bag is behind", "prescriber knows"), "behind-ask": answer})
    assert (going.status, going.branches) == (status, branches)
    assert "Do not open the clamp to catch up" in " ".join(say.text for say in going.walker.says)
    assert going.asked.count("ordered-volume") == (2 if "new-order" in branches else 1)


def test_a_bag_that_is_ahead_is_slowed_and_the_patient_looked_at() -> None:
    """Common practice: overload shows in the patient."""
    going = walk(RATE, GIVEN | {"level": "too much is in", "ahead-slow": "short of breath"})
    assert (going.status, going.branches) == ("abandoned", ["ahead", "overload"])
    assert going.asked[-3:] == ["overload-slow", "overload-call", "overload-write"]


def test_a_whole_minute_is_counted() -> None:
    """Common practice: a full minute, since each drop missed in fifteen seconds is four in the minute."""
    going = walk(RATE, GIVEN, to="count").wait(58).say("counted to the end")
    assert going.step == "count"
    assert going.wait(2).say("counted to the end").step == "counted"


def test_the_second_person_works_apart() -> None:
    """ISMP Canada 2019: the first figure stays hidden until the second is in; a wrong one goes to a recount."""
    script = GIVEN | {"second-person": ("second person comes", "two figures agreed")}
    going = walk(RATE, script)
    assert (going.status, going.branches) == ("finished", ["second-check-now"])
    asked = walk(RATE, script, to="drops-check")
    assert not [say.text for say in asked.walker.says if "42" in say.text or "125" in say.text]
    wrong = walk(RATE, script, to="drops-check").check(said("41", "drops/min"))
    assert wrong.branch == "figures-disagree"
    same = walk(RATE, script, to="drops-check").say("four one")
    assert same.step == "drops-check"
    assert "Another person has to check" in " ".join(same.walker.texts())


def test_where_a_second_person_is_asked_is_local_policy() -> None:
    going = walk(with_policy("infusion-rate", second_check="each time"), GIVEN, to="second-person")
    assert "each time" in " ".join(going.walker.texts())


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("order", "identify"),  # common practice
        ("hands-before-patient", "identify"),  # WHO 2009, moment 1
        ("identify", "bag-label"),
        ("agreement", "site"),
        ("site", "count"),  # nothing is counted into a site that is not fit
        ("line", "count"),
        ("bag-label", "drop-factor"),  # MD0904: the factor is that of the set
        ("ordered-volume", "flow"),  # MD0904
        ("ordered-time", "flow"),
        ("drop-factor", "drops"),
        ("flow", "suits"),
        ("patient", "suits"),
        ("second-person", "drops"),  # ISMP Canada 2019: the second works it out before hearing the first
        ("second-person", "counted"),
        ("drops", "count"),
        ("counted", "steady"),
        ("steady", "site-again"),
        ("steady", "next-look"),
        ("site-again", "hands-after"),  # WHO 2009, moments 4 and 5
        ("level", "document"),
        ("document", "sign"),
    ],
)
def test_what_must_come_before_what(first: str, then: str) -> None:
    assert comes_before(RATE, first, then)


def test_what_a_record_would_not_forgive_is_critical() -> None:
    """Common practice: order, identity, patient, bag, site, line, figures, count, record."""
    assert critical(RATE) >= {
        "order", "by-gravity", "hands-before-patient", "identify", "agreement", "allergies", "patient", "bag-label",
        "site", "line", "ordered-volume", "ordered-time", "drop-factor", "flow", "suits", "drops", "second-person",
        "level", "count", "counted", "steady", "site-again", "hands-after", "document", "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "value", "source"),
    [
        ("set-life", "96", "epic3 (from memory): not more often than every 96 hours"),
        ("epinephrine", "0.5", "Resuscitation Council UK 2021: 0.5 mg for an adult (from memory)"),
        ("epinephrine-again", "5 min", "Resuscitation Council UK 2021: after 5 minutes (from memory)"),
        ("bag-height", "90", "common practice: about three feet"),
        ("rub-time", "20 s", "WHO 2009: 20 to 30 s"),
    ],
)
def test_settings_hold_published_figures(setting: str, value: str, source: str) -> None:
    assert next(each for each in RATE.settings if each.id == setting).value == value, source


def test_what_needs_a_pump_does_not_run_by_gravity() -> None:
    """BCcampus 8.6: opioids and children; potassium, insulin and heparin from the high-alert list (ISMP)."""
    step = RATE.step("by-gravity")
    assert all(word in step.say for word in ("potassium", "insulin", "heparin", "opioids", "child"))
    assert walk(RATE, GIVEN | {"by-gravity": "needs a pump"}).outcome.startswith("It may not run by gravity")


def test_more_than_can_be_counted_is_asked_about() -> None:
    """1,000 mL in one hour is 1,000 mL/h, which no figure of this check reaches (common practice: not by eye)."""
    going = walk(RATE, GIVEN | {"ordered-time": "one hour"}, to="flow")
    assert said("1000", "mL/h") not in going.walker.machine.allowed(going.walker.state)
    going.say("figure is beyond", "really meant")
    assert going.branch == "pump-needed"


def test_what_came_apart_is_not_joined_again() -> None:
    """epic3 (from memory): hub cleaned for 15 s; common practice: a new set."""
    going = walk(RATE, GIVEN, to="line").say("came apart")
    assert "never joined again" in " ".join(going.walker.texts())
    assert going.out_of("line-open").step == "bag-label"


DEEDS = ("Stop the infusion", "Call for help", "Flat, legs raised", "epinephrine 0.5 mg of 1 mg/mL", "compressions")


@pytest.mark.parametrize("step", [step.id for step in RATE.steps])
def test_a_reaction_and_an_emergency_are_told_at_any_step_and_begin_with_deeds(step: str) -> None:
    """Resuscitation Council UK 2021 (from memory): the cause away, flat, 0.5 mg into the thigh; compressions for who
    is unresponsive without normal breathing, on the side only when breathing is normal."""
    going = walk(RATE, GIVEN, to=step)
    emergency = going.fork().say("not breathing")
    first = " ".join(emergency.walker.texts())
    assert emergency.branch == "emergency"
    assert first.index("Call for help") < first.index("compressions now") < first.index("on the side")
    first = " ".join(going.say("severe reaction").walker.texts())
    assert [first.index(deed) for deed in DEEDS] == sorted(first.index(deed) for deed in DEEDS)
    going.out_of("reaction")
    assert going.asked[-4:] == ["reaction-close", "reaction-vein", "reaction-stay", "reaction-keep"]


def test_epinephrine_is_called_for_again_by_itself() -> None:
    """Resuscitation Council UK 2021 (from memory): again after 5 minutes; after two in vain, an expert."""
    going = walk(RATE, GIVEN, to="count").say("severe reaction", "epinephrine was given", "new line is on")
    before = len(going.walker.says)
    going.wait(5 * 60)
    assert "epinephrine 0.5 mg again" in going.walker.says[before].text
    assert going.wait(5 * 60).step == "no-better-tell"


@pytest.mark.parametrize(
    ("score", "ending", "doctor"),
    [
        ("score one", "again", False),
        ("score two", "abandoned", False),
        ("score three", "abandoned", True),
        ("score five", "abandoned", True),
    ],
)
def test_what_follows_an_inflamed_vein_hangs_on_its_score(score: str, ending: str, doctor: bool) -> None:
    """Visual Infusion Phlebitis score, Jackson 1998 (published table): 1 watch, from 2 a new site, from 3 treatment."""
    going = walk(RATE, GIVEN, to="site").say("red and sore").read(score)
    assert (going.step == "phlebitis-doctor") == doctor
    if ending == "again":
        assert going.branch == "slight-signs" and going.out_of("phlebitis").step == "site"
    else:
        assert going.out_of("phlebitis").status == ending


def test_a_fast_rate_is_asked_about_and_then_stands() -> None:
    """Common practice: above a limit of local policy the prescriber is asked whether it is meant."""
    going = walk(RATE, GIVEN | {"ordered-time": "five hours"}, to="suits").say("suits this patient")
    assert going.branch == "flow-asked"
    assert going.out_of("flow-asked").say("suits this patient").step == "drops"


def test_air_that_went_in_is_answered_with_the_left_side_and_help() -> None:
    """Common practice: clamp, help, left side with the head low, oxygen."""
    going = walk(RATE, GIVEN, to="line").say("bubbles inside", "breathless or faint")
    text = " ".join(going.walker.texts())
    assert text.index("Clamp") < text.index("Call the emergency team") < text.index("Left side, head low")


def test_a_level_off_by_little_calls_nobody() -> None:
    """Common practice: the prescriber is called from a share of the volume on, which local policy decides."""
    going = walk(RATE, GIVEN, to="level")
    assert "Off by 10 percent or more" in " ".join(going.walker.texts())
    assert going.say("off by little").step == "count"


def test_without_a_policy_of_second_checks_nobody_is_asked() -> None:
    assert (
        walk(with_policy("infusion-rate", second_check="in no case"), GIVEN, to="flow").asked.count("second-person")
        == 0
    )

"""Capillary blood glucose: walked to its end, into every branch, and held against published guidance.

Read: Open RN 19.8, Royal Marsden 14.8 and CDC as the project's notes quote them (two identifiers, washed hands, strips
in date, control in range, display unit, lancing device for one person, shared meter cleaned), Hortensius 2011 (washed
hands and the first drop), ADA (70 and 54 mg/dL). The unit's factor: 180.156 g/mol. JBDS 01 as hospitals quote its
edition of April 2021. Resuscitation Council UK, Adult basic life support, 2021, key points.
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
    "hurry-glucose": "one hundred milligrams per deciliter",
    "low-again": "ninety milligrams per deciliter",
}
LOW = "sixty milligrams per deciliter"
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
    "hurry": "abandon",
    "below-meter": "return",
    "no-figure": "return",
    "no-washing": "return",
    "finger-unfit": "again finger",
    "little-blood": "again finger",
    "meter-message": "again finger",
    "out-of-range-high": "again wash-finger",
    "low": "return",
    "escalate": "abandon",
    "high": "again wash-finger",
    "high-confirmed": "abandon",
    "doubtful": "again wash-finger",
    "bleeding": "return",
    "contaminated": "again hands-before-gloves",
    "needle-stick": "return",
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
        "low-signs", "request", "meter-fit", "control", "unit-shown", "strip-expiry", "strips-opened", "identify",
        "agreement", "wash-finger", "gloves", "prick", "lancet-away", "fill-strip", "glucose", "fits", "clean-meter",
        "meter-wet", "hands-after", "document", "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("figure", "branch"),
    [
        ("seventy", None),
        ("sixty nine", "low"),
        ("twenty", "low"),
        ("three hundred", None),
        ("three hundred one", "high"),
    ],
)
def test_the_limits_are_those_of_the_levels(figure: str, branch: str | None) -> None:
    """ADA: below 70 mg/dL is low. Above 300 is a setting, common practice."""
    assert walk(METER, GIVEN, to="glucose").read(f"{figure} milligrams per deciliter").branch == branch


@pytest.mark.parametrize(
    ("figure", "branch"),
    [("four millimoles", None), ("three point nine millimoles", "low")],
)
def test_a_ward_that_uses_the_other_unit_sets_its_own_limits(figure: str, branch: str | None) -> None:
    """JBDS 01: below 4.0 mmol/L in hospital; ADA level 2 is 54 mg/dL, 54 / 18.0156 = 2.997 mmol/L, which is the
    3 below which the doctor is called."""
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


def test_signs_of_low_glucose_are_looked_for_first() -> None:
    """ADA: signs are treated as low until a figure shows otherwise, so nothing stands before them, poor circulation
    least of all."""
    assert METER.steps[0].id == "low-signs"
    going = walk(METER, GIVEN, to="low-signs").say("warning signs present", "colleague is coming")
    assert going.step == "hurry-prick"


def test_with_signs_it_is_four_replies_to_the_figure_and_it_ends_with_lancet_hands_and_record() -> None:
    """JBDS 01: treat at once. Washing, rub, choice of finger and the rest of the preparation are passed over."""
    going = walk(METER, GIVEN, to="low-signs").say("warning signs present", "colleague is coming", "finger is pricked")
    assert going.step == "hurry-glucose"
    assert not {"wash-finger", "hands-before-gloves", "finger"} & set(going.asked)
    going.read(LOW).to("low-wait").wait(15 * 60).to("low-report").answer()
    assert going.step == "hurry-glucose"
    going.read(LOW).to_end()
    assert set(going.done) >= {"low-treat", "low-again", "low-snack", "low-report"}
    assert set(going.done) >= {"hurry-who", "hurry-clean", "hurry-hands", "hurry-write"}


def test_with_signs_and_no_figure_it_is_treated_by_the_signs() -> None:
    """ADA, JBDS 01: nobody with signs waits for a meter."""
    going = walk(METER, GIVEN, to="low-signs").say("warning signs present").to("hurry-glucose")
    assert going.say("there is no figure", "signs are still there").to("low-treat").branch == "low"


@pytest.mark.parametrize("figure", [LOW, "low message appears"])
def test_a_low_figure_is_treated_and_measured_again_here_and_the_session_goes_on(figure: str) -> None:
    """ADA: 15 to 20 g, a recheck after 15 minutes; JBDS 01: slow carbohydrate, cause, prescriber. Also below what the
    meter shows."""
    going = walk(METER, GIVEN, to="glucose").read(figure)
    assert going.step == "low-swallow"
    going.say("awake and swallowing")
    assert "15 g" in " ".join(going.walker.texts())
    going.say("carbohydrate was taken").wait(14 * 60).say("patient was watched")
    assert going.step == "low-wait"
    going.wait(60).say("patient was watched").read("ninety milligrams per deciliter").to("low-report").answer()
    assert going.step == "glucose"
    going.read(LOW if figure == LOW else "ninety milligrams per deciliter")
    assert going.step == "fits"
    assert going.value("low-again") == "90 mg/dL"
    assert going.value("glucose") == ("60 mg/dL" if figure == LOW else "90 mg/dL")
    assert going.to_end().status == "finished"


def test_after_three_rounds_the_doctor_takes_over() -> None:
    """JBDS 01: at most three rounds; glucagon 1 mg once or 10 percent glucose into a vein over 15 minutes."""
    going = walk(METER, GIVEN | {"glucose": LOW, "low-again": LOW})
    assert going.branches == ["low", "low", "low", "escalate"]
    assert going.asked.count("low-treat") == 3
    assert going.status == "abandoned"
    said = " ".join(say.text for say in going.walker.says)
    assert "glucagon 1 mg into a muscle, once" in said
    assert "200 mL into a vein over 15 min" in said


@pytest.mark.parametrize("words", METER.branch("emergency").heard)
def test_an_emergency_can_be_told_at_every_step_and_begins_with_the_breathing(words: str) -> None:
    """Resuscitation Council UK 2021: call; compressions where breathing is absent or abnormal; on the side only where
    it is normal."""
    for step in ("ready", "wash-finger", "prick", "fill-strip", "meter-wet", "sign"):
        going = walk(METER, GIVEN, to=step).say(words)
        assert going.step == "emergency-call"
    told = " ".join(going.walker.texts())
    assert "normal breathing" in told
    assert told.index("chest compressions") < told.index("on the side")


def test_after_the_prick_nothing_ends_without_lancet_hands_and_record() -> None:
    """CDC: the lancet goes into the container, a shared meter is disinfected; WHO 2009: hands after. Every way out of
    the steps from the prick on."""
    pricked = {step.id for step in METER.steps[[step.id for step in METER.steps].index("prick") + 1 :]}
    ends = 0
    for way in HOW.trips.ways:
        if way.step not in pricked:
            continue
        going = HOW.trips.through(way)
        if going.status != "abandoned":
            continue
        ends += 1
        frames = going.walker.state.frames
        last = METER.branch(frames[-1].branch or "").steps[-1]
        assert last.id in going.done
        assert last.id.endswith(("-clean", "-write")), (way, last.id)
        told = " ".join(step.say for step in METER.branch(frames[-1].branch or "").steps)
        assert "ontainer" in told or "lancet-away" in going.done, way
        assert "hands" in told and ("written" in told or "chart" in told), way
    assert ends > 10


def test_a_month_alone_runs_to_its_end_and_a_printed_day_counts() -> None:
    """CDC: a month runs to its last day, a day counts as printed. The walker's day is 4 March 2030."""
    assert walk(METER, GIVEN, to="strip-expiry").read("march twenty thirty").step == "strips-opened"
    assert walk(METER, GIVEN, to="strip-expiry").read("march third twenty thirty").branch == "strips-unfit"


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


def test_which_drop_is_taken_is_a_setting_and_after_mere_wiping_always_the_second() -> None:
    """Hortensius 2011: the first after washing, the second where hands cannot be washed."""
    told = " ".join(walk(METER, GIVEN, to="drop-forms").walker.texts())
    assert "After washing with soap the first drop is used. After mere wiping, always the second." in told
    local = with_policy("capillary-glucose", drop="second")
    assert "the second drop is used" in " ".join(walk(local, GIVEN, to="drop-forms").walker.texts())
    unwashed = walk(METER, GIVEN | {"wash-finger": ("washing is not possible", "cleaned another way")}, to="drop-forms")
    assert unwashed.branches == ["no-washing"]
    assert "always the second" in " ".join(unwashed.walker.texts())


def test_nobody_is_pricked_without_what_comes_before() -> None:
    """NPSG.01.01.01, Open RN 19.8, CDC: order, identity, agreement, a fit meter, clean and gloved hands."""
    for step in (
        "request", "meter-fit", "control", "strip-expiry", "strips-opened", "identify", "agreement", "wash-finger",
        "hands-before-gloves", "gloves",
    ):  # fmt: skip
        assert comes_before(METER, step, "prick")

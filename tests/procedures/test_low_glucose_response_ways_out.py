"""Low glucose: what is said at any moment, and no way that loses a patient who was treated.

Sources as in `test_low_glucose_response.py`.
"""

import pytest

from companion.procedure.model import WaitStep
from tests.procedures.test_low_glucose_response import GIVEN, HOW, LOW
from tests.procedures.walking import walk

WORDS = [*LOW.branch("emergency").heard]


@pytest.mark.parametrize("words", WORDS)
def test_an_emergency_can_be_told_at_every_step_and_begins_with_the_breathing(words: str) -> None:
    """Resuscitation Council UK 2021: call; compressions where breathing is absent or abnormal; on the side only where
    it is normal."""
    for step in ("call-colleague", "treat", "wait-treat", "glucose-again", "sign"):
        going = walk(LOW, GIVEN, to=step).say(words)
        assert going.step == "emergency-call"
    told = " ".join(going.walker.texts())
    assert "normal breathing" in told
    assert "chest compressions" in told
    assert told.index("chest compressions") < told.index("on the side")


def test_nobody_who_faints_is_laid_with_the_legs_up_and_asked_another_question() -> None:
    """JBDS 01: whoever does not answer is an emergency at once; common practice asks no second time."""
    assert "fainting" not in {branch.id for branch in LOW.branches}
    going = walk(LOW, GIVEN, to="wait-treat").say("patient has fainted")
    assert going.step == "emergency-call"


@pytest.mark.parametrize("branch", ["emergency", "escalate"])
def test_doses_are_told_and_said_back_as_given(branch: str) -> None:
    """JBDS 01: 10 percent glucose into a vein over 15 minutes, or glucagon 1 mg into a muscle once; after 10 minutes it
    is measured again."""
    word = "no response" if branch == "emergency" else "patient vomits"
    going = walk(LOW, GIVEN, to="wait-treat").say(word).to(f"{branch}-give")
    told = " ".join(going.walker.texts())
    assert "200 mL into a vein over 15 min" in told
    assert "glucagon 1 mg into a muscle, once" in told
    going.say("glucagon is given")
    assert going.step == f"{branch}-measure"
    measure = LOW.step(f"{branch}-measure")
    assert isinstance(measure, WaitStep)
    going.wait(9 * 60).say(measure.replies[0])
    assert going.step == f"{branch}-measure"
    going.wait(60).to_end()
    assert going.status == "abandoned"
    assert "glucagon is given" in [entry.phrase for entry in going.walker.state.done]


def test_gel_is_a_round_of_its_own_and_starts_the_clock() -> None:
    """JBDS 01: gel for the confused who can swallow is the treatment, not an addition to it."""
    going = walk(LOW, GIVEN, to="response").say("confused but swallowing").to("treat").say("gel was taken")
    going.to("wait-treat").say("patient was watched")
    assert going.step == "wait-treat"
    assert going.to_end().status == "finished"
    assert going.asked.count("treat") == 1
    assert "treat-again" not in going.asked


@pytest.mark.parametrize("figure", ["no figure now", "low message shown"])
def test_without_a_figure_it_is_treated_and_goes_on_to_snack_cause_and_prescriber(figure: str) -> None:
    """ADA, JBDS 01: signs are treated as low; below what the meter shows is very low, and treated all the same. Nobody
    who was treated is lost."""
    going = walk(LOW, GIVEN | {"figure": figure})
    assert going.status == "finished"
    assert set(going.done) >= {"treat", "wait-treat", "glucose-again", "snack", "cause", "prescriber", "next-check"}
    assert "glucose" not in going.asked
    assert ("lo-call" in going.done) == (figure == "low message shown")


def test_a_figure_below_the_meter_after_the_wait_is_another_round() -> None:
    """ADA: again while low."""
    going = walk(LOW, GIVEN, to="glucose-again").say("low message appears")
    assert going.step == "treat-again"
    assert going.to_end().status == "finished"


def test_without_a_meter_after_the_wait_signs_are_another_round() -> None:
    going = walk(LOW, GIVEN, to="glucose-again").say("meter shows an error", "signs are still there")
    assert going.step == "treat-again"
    assert going.to_end().status == "finished"
    assert set(going.done) >= {"snack", "prescriber"}


def test_a_figure_called_not_low_that_is_low_is_treated() -> None:
    """ADA: 69 mg/dL is low whatever it was called."""
    going = walk(LOW, GIVEN | {"figure": ("limit reached", "below the limit")}, to="figure").read("limit reached")
    assert going.step == "not-low-figure"
    going.read("sixty nine milligrams per deciliter").out_of("not-low")
    assert going.step == "figure"
    assert going.read("below the limit").step == "treat"


def test_signs_with_a_figure_that_is_not_low_are_measured_once_more() -> None:
    """JBDS 01: a small snack for signs at 4 mmol/L or above. That it is measured again is common practice."""
    going = walk(LOW, GIVEN, to="figure").read("limit reached").to_end()
    assert going.status == "abandoned"
    assert [step for step in going.asked if step.startswith("not-low")] == [
        "not-low-figure", "not-low-snack", "not-low-wait", "not-low-again", "not-low-write",
    ]  # fmt: skip


@pytest.mark.parametrize(("figure", "called"), [("fifty four", False), ("fifty three", True)])
def test_level_two_calls_the_doctor_by_the_figure_alone(figure: str, called: bool) -> None:
    """ADA: 54 mg/dL is level 1, 53 is level 2; nobody is asked on which side it lies."""
    going = walk(LOW, GIVEN | {"glucose": f"{figure} milligrams per deciliter"})
    assert going.status == "finished"
    assert ("level" in going.done) == called


def test_insulin_that_is_due_is_reviewed_and_not_left_out() -> None:
    """JBDS 01: do not omit insulin that is due; a drip is stopped meanwhile and started again after review."""
    said = " ".join(LOW.step(step).say for step in ("insulin-held", "prescriber"))
    assert "not left out" in said
    assert "reviewed" in said
    assert "starts again" in said
    assert "Hold any dose" not in said


@pytest.mark.parametrize("way", ["mouth is ruled out", "will not cooperate", "patient vomits"])
def test_who_can_take_nothing_by_mouth_is_measured_again_and_reported_all_the_same(way: str) -> None:
    """JBDS 01: glucose into a vein or glucagon, a recheck after 10 minutes, slow carbohydrate afterwards."""
    going = walk(LOW, GIVEN, to="treat").say(way).to_end()
    assert [step for step in going.done if step.startswith("escalate")] == [
        "escalate-call", "escalate-give", "escalate-measure", "escalate-snack", "escalate-write",
    ]  # fmt: skip


def test_a_wrong_chart_does_not_delay_treatment() -> None:
    """Common practice: the person in front of you is treated, and the chart is put right."""
    going = walk(LOW, GIVEN | {"identify/birth": "different birth date"})
    assert going.status == "finished"
    assert going.branches == ["wrong-chart"]
    assert "Go on treating" in " ".join(say.text for say in going.walker.says)


def test_the_patient_is_never_left_alone() -> None:
    """Common practice: called away at any step, or pricked by the lancet, somebody stays, and it goes on."""
    away = LOW.branch("called-away")
    assert set(away.at) >= {step.id for step in LOW.steps}
    going = walk(LOW, GIVEN, to="wait-treat").say("called away")
    assert "not left alone" in " ".join(going.walker.texts())
    stuck = walk(LOW, GIVEN, to="glucose-again").say("i pricked myself")
    assert "stays with the patient" in " ".join(stuck.walker.texts())
    assert stuck.to_end().status == "finished"


def test_after_sugar_nothing_ends_without_the_next_figure_and_a_report() -> None:
    """ADA, JBDS 01: whoever was treated is measured again. Every way out of the steps after the sugar."""
    order = [step.id for step in LOW.steps]
    ends = 0
    for way in HOW.trips.ways:
        if way.step not in order or order.index(way.step) <= order.index("treat"):
            continue
        going = HOW.trips.through(way)
        if going.status != "abandoned":
            continue
        ends += 1
        assert {"escalate-measure", "escalate-write"} <= set(going.done) or {
            "emergency-measure",
            "emergency-write",
        } <= set(going.done), way
    assert ends > 20

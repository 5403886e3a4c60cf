"""The response to low glucose: walked to its end, into every branch, and held against published guidance.

Read: ADA (below 70 and below 54 mg/dL, 15 to 20 g, 15 minutes, again while low); JBDS 01, 4th edition, 2020, and pages
that quote it (below 4.0 mmol/L, 10 to 15 minutes, three rounds or 45 minutes, then doctor; 20 g of slow carbohydrate,
40 g after glucagon; do not leave insulin out).
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
from tests.procedures.walking import Script, walk

LOW = procedure("low-glucose-response")
GIVEN = {
    "glucose": "sixty two milligrams per deciliter",
    "glucose-again": "ninety milligrams per deciliter",
}
STILL = "sixty milligrams per deciliter"
ENDINGS = {
    "emergency": "abandon",
    "confused": "return",
    "wrong-chart": "again identify",
    "no-meter": "return",
    "below-meter": "abandon",
    "not-low": "abandon",
    "level-two": "return",
    "special-kind": "return",
    "by-vein": "abandon",
    "refused": "return",
    "refused-still": "abandon",
    "vomited": "abandon",
    "still-low": "return",
    "escalate": "abandon",
    "signs-stay": "return",
    "contaminated": "return",
    "bleeding": "return",
    "needle-stick": "abandon",
    "fainting": "return",
    "called-away": "return",
}
HOW = Endings(LOW, GIVEN)


def test_the_file_is_clean() -> None:
    check_is_clean("low-glucose-response")
    says_why_and_by_whom(LOW)
    phrases_can_be_told_apart(LOW)


def test_it_is_walked_to_the_signature() -> None:
    going = walk(LOW, GIVEN)
    assert going.status == "finished"
    assert going.done == [step.id for step in LOW.steps]
    assert (going.value("glucose"), going.value("glucose-again")) == ("62 mg/dL", "90 mg/dL")


@pytest.mark.parametrize(("branch", "ending"), ENDINGS.items())
def test_each_branch_ends_as_it_should(branch: str, ending: str) -> None:
    assert HOW.of(branch) == {ending}


def test_every_branch_is_among_them() -> None:
    assert set(ENDINGS) == {branch.id for branch in LOW.branches}


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("call-colleague", "response"),  # common practice
        ("response", "treat"),  # JBDS 01: only who can swallow is given anything by mouth
        ("response", "insulin-held"),
        ("hands-first", "gloves"),  # WHO 2009
        ("suits", "treat"),  # JBDS 01: no juice in kidney failure, glucose with acarbose
        ("treat", "wait-treat"),  # ADA
        ("wait-treat", "glucose-again"),  # ADA
        ("glucose-again", "snack"),  # JBDS 01: slow carbohydrate once it is no longer low
        ("clean-up", "hands-after"),  # WHO 2009
        ("prescriber", "document"),
        ("document", "sign"),
    ],
)
def test_what_must_come_before_what(first: str, then: str) -> None:
    assert comes_before(LOW, first, then)


def test_what_a_record_would_not_forgive_is_critical() -> None:
    """Common practice."""
    assert critical(LOW) >= {
        "call-colleague", "response", "insulin-held", "identify", "glucose", "level", "suits", "treat", "wait-treat",
        "glucose-again", "signs-gone", "snack", "clean-up", "prescriber", "next-check", "document", "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "value", "least", "most", "source"),
    [
        ("low-glucose-limit", "70", None, None, "ADA"),
        ("very-low-limit", "54", None, None, "ADA, level 2"),
        ("carbohydrate", "15", 15, 20, "ADA and JBDS 01"),
        ("recheck-time", "15 min", 600, 900, "ADA 15 minutes; JBDS 01 10 to 15"),
        ("longest-treating", "45 min", 1800, 2700, "JBDS 01: 45 minutes or three rounds"),
        ("slow-carbohydrate", "20", 15, 40, "JBDS 01: 20 g, 40 g after glucagon"),
        ("identifiers", "2", 2, 3, "NPSG.01.01.01; three in Australia"),
    ],
)
def test_settings_hold_published_figures(
    setting: str, value: str, least: int | None, most: int | None, source: str
) -> None:
    found = next(each for each in LOW.settings if each.id == setting)
    assert (found.value, found.least, found.most) == (value, least, most), source


@pytest.mark.parametrize(
    ("step", "figure", "branch"),
    [
        ("glucose", "sixty nine", None),
        ("glucose", "seventy", "not-low"),
        ("glucose-again", "seventy", None),
        ("glucose-again", "sixty nine", "still-low"),
    ],
)
def test_seventy_is_not_low(step: str, figure: str, branch: str | None) -> None:
    """ADA: level 1 is below 70 mg/dL."""
    assert walk(LOW, GIVEN, to=step).read(f"{figure} milligrams per deciliter").branch == branch


@pytest.mark.parametrize(
    ("step", "figure", "branch"),
    [
        ("glucose", "three point nine", None),
        ("glucose", "four", "not-low"),
        ("glucose-again", "four", None),
        ("glucose-again", "three point nine", "still-low"),
    ],
)
def test_four_is_not_low_where_millimoles_are_used(step: str, figure: str, branch: str | None) -> None:
    """JBDS 01: below 4.0 mmol/L."""
    local = with_policy(
        "low-glucose-response",
        glucose_unit="mmol/L",
        glucose_least="1",
        glucose_most="33",
        glucose_by="0.1",
        low_glucose_limit="4",
        highest_low="3.9",
        very_low_limit="3",
    )
    script = {"glucose": "three point two millimoles per liter", "glucose-again": "six millimoles per liter"}
    assert walk(local, script, to=step).read(f"{figure} millimoles per liter").branch == branch


def test_it_is_not_measured_before_fifteen_minutes() -> None:
    """ADA: recheck at 15 minutes, from the carbohydrate on."""
    going = walk(LOW, GIVEN, to="wait-treat").wait(14 * 60).say("patient was watched")
    assert going.step == "wait-treat"
    assert going.wait(60).say("patient was watched").step == "glucose-again"


def test_two_more_rounds_and_it_is_done() -> None:
    """ADA: again while low."""
    going = walk(LOW, GIVEN | {"glucose-again": (STILL, STILL, GIVEN["glucose-again"])})
    assert going.status == "finished"
    assert going.branches == ["still-low", "still-low"]
    assert [step for step in going.asked if step.startswith("treat")] == ["treat", "treat-again", "treat-again"]


def test_after_three_rounds_the_doctor_takes_over_by_the_clock() -> None:
    """JBDS 01: at most three rounds or 45 minutes. Three waits of 15 minutes are 45, so there is no fourth round."""
    going = walk(LOW, GIVEN | {"glucose-again": STILL})
    assert going.status == "abandoned"
    assert going.branches == ["still-low", "still-low", "still-low", "escalate"]
    assert going.asked.count("treat-again") == 2
    assert going.outcome == "Three rounds had no lasting effect; the doctor takes over."


def test_after_three_shorter_rounds_the_doctor_takes_over_by_word() -> None:
    """JBDS 01: rechecked after 10 minutes, the third round is over before 45 minutes are."""
    local = with_policy("low-glucose-response", recheck_time="10 min")
    script: Script = {
        **GIVEN,
        "glucose-again": STILL,
        "rounds": ("fewer than that", "fewer than that", "that was the third"),
    }
    going = walk(local, script)
    assert (going.status, going.branches[-1]) == ("abandoned", "escalate")
    assert going.asked.count("treat-again") == 2
    assert going.walker.now < 45 * 60_000


@pytest.mark.parametrize("words", ["no response", "cannot swallow", "having a seizure"])
def test_nothing_by_mouth_to_somebody_who_cannot_swallow(words: str) -> None:
    """JBDS 01, ADA: emergency team, side, glucose into a vein or glucagon."""
    going = walk(LOW, GIVEN | {"response": words})
    assert going.status == "abandoned"
    assert "treat" not in going.asked
    said = " ".join(say.text for say in going.walker.says)
    assert "Nothing by mouth" in said
    assert "glucagon" in said


def test_level_two_calls_the_doctor_and_goes_on_treating() -> None:
    """ADA: below 54 mg/dL is level 2, and needs action at once."""
    script: Script = {
        **GIVEN,
        "glucose": "fifty milligrams per deciliter",
        "level": ("severely low", "doctor is informed"),
    }
    going = walk(LOW, script)
    assert going.status == "finished"
    assert going.asked.index("level-two-call") < going.asked.index("treat")


def test_a_wrong_chart_does_not_delay_treatment() -> None:
    """Common practice: the person in front of you is treated, and the chart is put right."""
    going = walk(LOW, GIVEN | {"identify/birth": "different birth date"})
    assert going.status == "finished"
    assert going.branches == ["wrong-chart"]
    assert "Go on treating" in " ".join(say.text for say in going.walker.says)


def test_the_patient_is_never_left_alone() -> None:
    """Common practice: called away at any step, somebody stays."""
    away = LOW.branch("called-away")
    assert set(away.at) >= {step.id for step in LOW.steps}
    going = walk(LOW, GIVEN, to="wait-treat").say("called away")
    assert "not left alone" in " ".join(going.walker.texts())


@pytest.mark.parametrize(("figure", "branch"), [("fifty four", None), ("fifty three", "level-two")])
def test_the_figure_speaks_against_a_level_that_is_not_its_own(figure: str, branch: str | None) -> None:
    """ADA: 54 mg/dL is level 1, 53 is level 2, whatever somebody says of it."""
    going = walk(LOW, GIVEN | {"glucose": f"{figure} milligrams per deciliter"}, to="level").say("milder than that")
    assert going.branch == branch
    if branch is not None:
        assert "53 mg/dL speaks against that." in going.walker.texts()
        assert going.out_of(branch).say("doctor is informed").step == "suits"

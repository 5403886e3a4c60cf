"""The response to low glucose: walked to its end, into every branch, and held against published guidance.

Read: ADA (below 70 and below 54 mg/dL, 15 to 20 g, 15 minutes, again while low); JBDS 01 as hospitals quote its edition
of April 2021 (below 4.0 mmol/L, 10 to 15 minutes, three rounds or 45 minutes, then doctor; glucagon 1 mg into a muscle
or 150 to 200 mL of 10 percent glucose into a vein over 15 minutes, a recheck after 10; 20 g of slow carbohydrate, 40 g
after glucagon; do not leave insulin out); Resuscitation Council UK, Adult basic life support, 2021, key points.
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

LOW = procedure("low-glucose-response")
GIVEN = {
    "figure": "below the limit",
    "glucose": "sixty two milligrams per deciliter",
    "not-low-figure": "ninety milligrams per deciliter",
    "not-low-again": "ninety milligrams per deciliter",
    "glucose-again": "ninety milligrams per deciliter",
}
STILL = "sixty milligrams per deciliter"
ENDINGS = {
    "emergency": "abandon",
    "escalate": "abandon",
    "wrong-chart": "again identify",
    "figure-differs": "return",
    "not-low": "abandon",
    "low-after-all": "again figure",
    "special-kind": "return",
    "refused": "return",
    "still-low": "return",
    "no-meter": "return",
    "signs-stay": "return",
    "contaminated": "return",
    "needle-stick": "return",
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
    assert going.done == [step.id for step in LOW.steps if step.id not in ("level", "lo-call")]
    assert (going.value("glucose"), going.value("glucose-again")) == ("62 mg/dL", "90 mg/dL")


def test_sugar_comes_after_four_replies() -> None:
    """ADA, JBDS 01: treat at once. A call, the look whether they swallow, the figure and its read-back; the rub of the
    hands, gloves and identifiers come while it takes effect, or are no gate at all."""
    going = walk(LOW, GIVEN, to="call-colleague")
    going.say("colleague is coming", "awake and swallowing", "below the limit", "right")
    assert going.step == "treat"
    assert LOW.steps[3].id == "treat"
    after = [step.id for step in LOW.steps[4:]]
    assert after.index("identify") < after.index("cause") < after.index("wait-treat")
    assert "insulin-held" in after[: after.index("wait-treat")]


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
        ("treat", "insulin-held"),
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
        "call-colleague", "response", "figure", "treat", "insulin-held", "identify", "glucose", "level", "lo-call",
        "wait-treat", "glucose-again", "signs-gone", "snack", "prescriber", "next-check", "clean-up", "document",
        "sign",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "value", "least", "most", "source"),
    [
        ("low-glucose-limit", "70", None, None, "ADA"),
        ("very-low-limit", "54", None, None, "ADA, level 2"),
        ("carbohydrate", "15", 15, 20, "ADA and JBDS 01"),
        ("recheck-time", "15 min", 600, 900, "ADA 15 minutes; JBDS 01 10 to 15"),
        ("more-rounds", "2", 1, 2, "JBDS 01: three rounds in all"),
        ("glucagon", "1", 1, 1, "JBDS 01: 1 mg into a muscle, once"),
        ("vein-volume", "200", 150, 200, "JBDS 01: 150 to 200 mL of 10 percent glucose"),
        ("vein-time", "15 min", None, None, "JBDS 01"),
        ("vein-recheck", "10 min", 600, 900, "JBDS 01: 10 minutes after"),
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
        ("glucose", "seventy", "figure-differs"),
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
        ("glucose", "four", "figure-differs"),
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
    """ADA: recheck at 15 minutes, from the carbohydrate on; what is done meanwhile takes nothing from it."""
    going = walk(LOW, GIVEN, to="insulin-held").wait(5 * 60).to("wait-treat").wait(9 * 60).say("patient was watched")
    assert going.step == "wait-treat"
    assert going.wait(60).say("patient was watched").step == "glucose-again"


def test_two_more_rounds_and_it_is_done() -> None:
    """ADA: again while low."""
    going = walk(LOW, GIVEN | {"glucose-again": (STILL, STILL, GIVEN["glucose-again"])})
    assert going.status == "finished"
    assert going.branches == ["still-low", "still-low"]
    assert [step for step in going.asked if step.startswith("treat")] == ["treat", "treat-again", "treat-again"]


@pytest.mark.parametrize("recheck", ["10 min", "15 min"])
def test_after_three_rounds_the_doctor_takes_over(recheck: str) -> None:
    """JBDS 01: at most three rounds, also where it is measured every 10 minutes."""
    local = with_policy("low-glucose-response", recheck_time=recheck)
    going = walk(local, GIVEN | {"glucose-again": STILL})
    assert going.status == "abandoned"
    assert going.branches == ["still-low", "still-low", "escalate"]
    assert going.asked.count("treat-again") == 2
    assert going.outcome.startswith("The doctor takes over")

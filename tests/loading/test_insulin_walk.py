"""The insulin procedure walked to its end and into every branch, by the machine, without sound.

What is expected at the limits: ADA (below 70 mg/dL is low), USP 797 (28 days after opening), ISMP Canada 2019 (figures
that differ are worked out again by both).
"""

from pathlib import Path

import pytest

from companion.core.controls import control_phrases
from companion.core.procedure import (
    ActionStep,
    Branch,
    CalculationStep,
    IdentificationStep,
    ObservationStep,
    ReadingStep,
    SignatureStep,
    WaitStep,
)
from companion.loading import load
from tests.walk import Walker

PATH = Path(__file__).parents[2] / "procedures" / "subcutaneous-insulin.yaml"
PROCEDURE = load(PATH).procedure
MAIN = [step.id for step in PROCEDURE.steps]
CHECKER = "two seven"
RIGHT = control_phrases(PROCEDURE.language)["right"][0]

# The walker's day is 4 March 2030.
GIVEN = {
    "ordered-kind": "rapid acting",
    "ordered-dose": "eighteen units",
    "glucose": "one hundred forty milligrams per deciliter",
    "stock-strength": "one hundred units per milliliter",
    "expiry": "june twenty thirty one",
    "opened-on": "first of march twenty thirty",
    "volume": "zero point one eight milliliters",
    "site": "left abdomen",
    "low-again": "ninety milligrams per deciliter",
    "late-again": "ninety milligrams per deciliter",
}


def do(walker: Walker) -> None:
    """Confirm the present step as it should be."""
    step = PROCEDURE.step(walker.step)
    if isinstance(step, ActionStep):
        walker.reply(step.replies[0])
    elif isinstance(step, WaitStep):
        walker.wait(step.at_least)
        walker.reply(step.replies[0])
    elif isinstance(step, ObservationStep):
        walker.wait(step.look or 0)
        walker.reply(step.normal[0])
    elif isinstance(step, IdentificationStep):
        for item in step.items[: step.count]:
            walker.reply(item.agrees[0])
    elif isinstance(step, ReadingStep):
        read(walker, GIVEN[step.id])
    elif isinstance(step, CalculationStep):
        walker.replies(GIVEN[step.id], GIVEN[step.id])
    elif isinstance(step, SignatureStep):
        walker.reply("four one")
    else:
        check(walker, GIVEN["volume"])


def read(walker: Walker, phrase: str) -> None:
    walker.replies(phrase, RIGHT)


def check(walker: Walker, figure: str) -> None:
    walker.replies(CHECKER, RIGHT, figure, figure)


def up_to(step: str) -> Walker:
    """A session that has just come to a main step."""
    walker = Walker(PROCEDURE)
    walker.replies("four one", RIGHT) if not walker.step else None
    while walker.step != step:
        before = walker.step
        do(walker)
        assert walker.step != before, f"stuck at {before}"
    return walker


def branch_of(walker: Walker) -> str | None:
    return walker.state.frames[-1].branch if walker.state.frames else None


def test_it_reaches_the_signature_with_every_step_confirmed() -> None:
    walker = up_to("sign")
    do(walker)
    assert walker.state.status == "finished"
    assert [entry.step for entry in walker.state.done] == MAIN
    assert walker.state.values["volume"].written() == "0.18 mL"


# branch, the main step it is taken at, what is said there
BY_WORD = [
    (branch.id, step, phrase)
    for branch in PROCEDURE.branches
    for phrase in branch.heard
    for step in (branch.at or ("ready", "inject", "document"))
    if step in MAIN
]
BY_ANSWER = [
    (abnormal.branch, step.id, abnormal.replies[0])
    for step in PROCEDURE.steps
    if isinstance(step, ObservationStep)
    for abnormal in step.abnormal
] + [
    (step.mismatch, step.id, step.items[0].differs[0])
    for step in PROCEDURE.steps
    if isinstance(step, IdentificationStep)
]
BY_VALUE = [
    ("order-unclear", "ordered-dose", "fifty one units"),
    ("low-glucose", "glucose", "sixty nine milligrams per deciliter"),
    ("strength-differs", "stock-strength", "two hundred units per milliliter"),
    ("strength-differs", "stock-strength", "forty units per milliliter"),
    ("vial-unfit", "expiry", "february twenty thirty"),
    ("vial-unfit", "opened-on", "fourth of february twenty thirty"),
]


@pytest.mark.parametrize(("branch", "step", "phrase"), [*BY_WORD, *BY_ANSWER], ids=lambda part: part)
def test_a_branch_is_taken_by_word_and_comes_to_its_end(branch: str, step: str, phrase: str) -> None:
    walker = up_to(step)
    walker.reply(phrase)
    assert branch_of(walker) == branch
    finish(walker, PROCEDURE.branch(branch), step)


@pytest.mark.parametrize(("branch", "step", "phrase"), BY_VALUE, ids=lambda part: part)
def test_a_branch_is_taken_by_a_value(branch: str, step: str, phrase: str) -> None:
    """ADA: 69 mg/dL is low and 70 is not. USP 797, discarded 28 days after the first puncture: opened
    2030-02-04 that day is 2030-03-04, opened a day later it is not."""
    walker = up_to(step)
    read(walker, phrase)
    assert branch_of(walker) == branch
    finish(walker, PROCEDURE.branch(branch), step)


@pytest.mark.parametrize(
    ("step", "phrase"),
    [
        ("ordered-dose", "fifty units"),
        ("glucose", "seventy milligrams per deciliter"),
        ("expiry", "march twenty thirty"),
        ("opened-on", "fifth of february twenty thirty"),
    ],
)
def test_the_last_value_that_is_still_accepted(step: str, phrase: str) -> None:
    walker = up_to(step)
    read(walker, phrase)
    assert walker.step == MAIN[MAIN.index(step) + 1]


def finish(walker: Walker, branch: Branch, taken_at: str) -> None:
    """Go through a branch; nothing ends silently."""
    for _ in range(20):
        if walker.state.ended or branch_of(walker) != branch.id:
            break
        do(walker)
    if branch.ends.do == "abandon":
        assert walker.state.status == "abandoned"
        assert branch.ends.reason is not None
        assert branch.ends.reason in walker.state.outcome
    elif branch.ends.do == "return":
        assert walker.step == taken_at
    else:
        assert walker.step == branch.ends.step
        up_to_end(walker)


def up_to_end(walker: Walker) -> None:
    while not walker.state.ended:
        do(walker)
    assert walker.state.status == "finished"
    assert {entry.step for entry in walker.state.done} >= set(MAIN)


def test_figures_that_disagree_are_worked_out_again_by_both() -> None:
    """ISMP Canada, 28 August 2019: compare after both have worked apart; nobody picks one of the two."""
    walker = up_to("double-check")
    check(walker, "zero point one five milliliters")
    assert branch_of(walker) == "figures-disagree"
    finish(walker, PROCEDURE.branch("figures-disagree"), "double-check")


def test_a_wrong_figure_that_both_share_is_caught() -> None:
    walker = up_to("volume")
    walker.replies("zero point one five milliliters", "zero point one five milliliters")
    check(walker, "zero point one five milliliters")
    assert branch_of(walker) == "figures-disagree"


@pytest.mark.parametrize(
    ("branch", "inner", "phrase", "path"),
    [
        ("emergency", "low-treat", "cannot swallow", "warning signs present"),
        ("emergency", "faint-look", "no response", "fainting now"),
        ("held", "unclear-result", "still in doubt", "signature is missing"),
    ],
)
def test_a_branch_out_of_a_branch(branch: str, inner: str, phrase: str, path: str) -> None:
    walker = up_to("order" if path == "signature is missing" else "low-signs")
    walker.reply(path)
    while walker.step != inner:
        do(walker)
    walker.reply(phrase)
    assert branch_of(walker) == branch
    do(walker)
    assert walker.state.status == "abandoned"


def test_low_glucose_that_stays_low_is_treated_again() -> None:
    """ADA: repeat while low."""
    walker = up_to("low-signs")
    walker.reply("warning signs present")
    do(walker)
    do(walker)
    read(walker, "sixty milligrams per deciliter")
    assert walker.step == "low-treat"


def test_a_stopper_left_open_too_long_is_wiped_and_dried_again() -> None:
    """Common practice; WHO toolkit (from memory): wiped and left to dry before it is pierced. The time is a setting."""
    walker = up_to("stopper-dry")
    walker.wait(181)
    assert "The longest time, 3 minutes, has gone by. It goes on with: Stopper open too long." in walker.heard()
    walker.reply("rubber is dry")
    assert walker.step == "swab-afresh"
    do(walker)
    assert walker.step == "wipe-stopper"
    do(walker)
    do(walker)
    assert walker.step == "stopper-dry"
    walker.reply("rubber is dry")
    assert walker.step == "stopper-dry" and "Not yet. 29 seconds to go." in walker.texts()
    up_to_end(walker)


def test_the_stopper_dries_while_the_syringe_is_looked_at() -> None:
    """Several timers at once: that of the stopper runs out, and is told, at another step."""
    walker = up_to("syringe")
    walker.wait(31)
    assert "Let the stopper dry: the time is up." in walker.heard()
    do(walker)
    assert walker.step == "stopper-dry" and "The time is already up." in walker.texts()
    walker.reply("rubber is dry")
    assert walker.step == "draw-air"


def test_every_branch_is_taken_by_one_of_these_tests() -> None:
    taken = {branch for branch, *_ in [*BY_WORD, *BY_ANSWER, *BY_VALUE]}
    taken |= {"figures-disagree", "emergency", "held", "stopper-late"}
    assert taken == {branch.id for branch in PROCEDURE.branches}

"""The response to low glucose: what a single walk cannot show. Sources stand in `facts/low-glucose-response.yaml`."""

from tests.procedures.library import procedure
from tests.procedures.test_branches import endings

LOW = procedure("low-glucose-response")


def test_sugar_is_the_fourth_step() -> None:
    """ADA, JBDS 01: treat at once."""
    assert LOW.steps[3].id == "treat"


def test_nobody_who_faints_is_laid_with_the_legs_up() -> None:
    """JBDS 01: whoever does not answer is an emergency at once."""
    assert "fainting" not in {branch.id for branch in LOW.branches}


def test_one_may_be_called_away_from_every_step() -> None:
    """Common practice: the patient is never left alone, so it has to be told."""
    assert set(LOW.branch("called-away").at) >= {step.id for step in LOW.steps}


def test_after_sugar_nothing_ends_without_the_next_figure_and_a_report() -> None:
    """ADA, JBDS 01: whoever was treated is measured again. Every way out of the steps after the sugar."""
    order = [step.id for step in LOW.steps]
    ends = 0
    for way, going in endings("low-glucose-response").abandoned_from(order[order.index("treat") + 1 :]):
        ends += 1
        done = set(going.done)
        assert any({f"{by}-measure", f"{by}-write"} <= done for by in ("escalate", "emergency")), way
    assert ends > 20

"""Capillary blood glucose: what a single walk cannot show. Sources stand in `facts/capillary-glucose.yaml`."""

from decimal import Decimal

from tests.procedures.library import procedure
from tests.procedures.test_branches import endings

METER = procedure("capillary-glucose")


def test_the_limit_of_level_two_in_the_other_unit() -> None:
    """ADA: 54 mg/dL; 180.156 g/mol."""
    assert round(Decimal(54) / Decimal("18.0156"), 3) == Decimal("2.997")


def test_after_the_prick_nothing_ends_without_lancet_hands_and_record() -> None:
    """CDC: the lancet goes into the container, a shared meter is disinfected; WHO 2009: hands after. Every way out of
    the steps from the prick on."""
    pricked = {step.id for step in METER.steps[[step.id for step in METER.steps].index("prick") + 1 :]}
    ends = 0
    for way, going in endings("capillary-glucose").abandoned_from(pricked):
        ends += 1
        branch = METER.branch(going.walker.state.frames[-1].branch or "")
        assert branch.steps[-1].id in going.done
        assert branch.steps[-1].id.endswith(("-clean", "-write")), (way, branch.id)
        told = " ".join(step.say for step in branch.steps)
        assert "ontainer" in told or "lancet-away" in going.done, way
        assert "hands" in told and ("written" in told or "chart" in told), way
    assert ends > 10


def test_a_lancet_is_never_used_again() -> None:
    """CDC: after every prick the lancet goes into the container before the next step."""
    order = [step.id for step in METER.steps]
    assert order[order.index("prick") + 1] == "lancet-away"
    again = {branch.ends.step for branch in METER.branches if branch.ends.do == "again"}
    assert all(order.index(step) < order.index("strip-in") for step in again if step is not None)

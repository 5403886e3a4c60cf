"""Insulin by pen: what a single walk cannot show. Sources stand in `facts/insulin-pen.yaml`."""

from companion.procedure.kinds.worked_out import CheckStep
from tests.procedures.library import procedure

PEN = procedure("insulin-pen")


def test_no_bare_needle_waits_for_anything_but_the_dose() -> None:
    """Common practice, after Frid 2016: patient, place and hands are ready before the needle goes on."""
    ids = [step.id for step in PEN.steps]
    between = set(ids[ids.index("attach-needle") + 1 : ids.index("insert-needle")])
    assert between == {"prime", "prime-drop", "dial", "checker-sees", "label-third", "lift-fold"}


def test_three_things_are_checked_by_a_second_person() -> None:
    """ISMP Canada 2019, NPSA 2010."""
    checks = {step.id: step.of for step in PEN.steps if isinstance(step, CheckStep)}
    assert checks == {"double-check": "ordered-dose", "checker-kind": "label-kind", "checker-sees": "dial"}


def test_the_figure_to_dial_stands_in_no_hint() -> None:
    """ISMP Canada 2019, from the same thought: what is heard is repeated, not read."""
    assert not any(told in (PEN.step("dial").hint or "") for told in ("18", "eighteen", "{ordered-dose}"))

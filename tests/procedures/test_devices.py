"""A session asks for what is drawn up in the unit in which the device at hand is marked."""

from pathlib import Path

import pytest

from companion.dose.devices import parse_device
from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.kinds.worked_out import CalculationStep
from companion.procedure.loading import load
from companion.speech.values import NumberValue

PROCEDURES = Path(__file__).parents[2] / "procedures"


@pytest.mark.parametrize(
    ("name", "device"),
    [
        # Insulin syringes are marked in units (ISO 8537), ordinary ones in mL (ISO 7886-1).
        ("subcutaneous-insulin", "1 mL U-100 insulin syringe"),
        ("vaccine-deltoid", "1 mL syringe"),
    ],
)
def test_amounts_are_asked_in_the_unit_of_the_scale(name: str, device: str) -> None:
    steps = load(PROCEDURES / f"{name}.yaml").procedure.all_steps()
    specs = [step.value for step in steps if isinstance(step, ReadingStep | CalculationStep)]
    asked = {spec.unit for spec in specs if isinstance(spec, NumberValue)} & {"mL", "units"}
    assert asked == {parse_device(device).scale}


def test_a_pen_is_dialed_in_units() -> None:
    """NHS/PSA/W/2016/011: nothing is drawn up from a pen, so nothing is measured in mL."""
    steps = load(PROCEDURES / "insulin-pen.yaml").procedure.all_steps()
    specs = [step.value for step in steps if isinstance(step, ReadingStep | CalculationStep)]
    assert "mL" not in {spec.unit for spec in specs if isinstance(spec, NumberValue)}

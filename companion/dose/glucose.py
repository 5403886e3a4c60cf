"""Blood glucose levels. A reading is classified as it was taken, never after rounding."""

from dataclasses import dataclass
from typing import Final, Literal

from companion.dose.conversions import glucose_in
from companion.dose.plausible import check_usual
from companion.dose.quantity import Quantity, parse_quantity
from companion.speech.units import parse_unit

_MG_PER_DL: Final = parse_unit("mg/dL")

Level = Literal["not low", "level 1", "level 2"]
"""Low glucose by figure. Level 3, the need for another's help, has no figure: somebody has to say it."""


@dataclass(frozen=True)
class LowGlucose:
    """Level 1 is below `level_1`, level 2 below `level_2` if there is one, each in the unit of the guidance."""

    source: str
    level_1: Quantity
    level_2: Quantity | None = None


ADA: Final = LowGlucose(
    "ADA Standards of Care in Diabetes",
    parse_quantity("70 mg/dL"),
    parse_quantity("54 mg/dL"),
)
JBDS: Final = LowGlucose("JBDS 01, 4th ed. 2020, inpatients", parse_quantity("4 mmol/L"))


_METER: Final = (parse_quantity("20 mg/dL"), parse_quantity("600 mg/dL"))
"""What meters usually show as a figure (common practice); a reading far outside has its unit wrong."""


def parse_glucose(text: str, what: str = "the blood glucose") -> Quantity:
    """`70 mg/dL`, `3.9 mmol/L`; a meter's `5.0 mmol/L` passes too.

    Raises DoseError for another unit, and for a figure ten times outside what meters show.
    """
    reading = parse_quantity(text, what, laboratory=True)
    glucose_cautions(reading, what)
    return reading


def glucose_cautions(reading: Quantity, what: str = "the blood glucose") -> tuple[str, ...]:
    """A sentence where a meter would hardly show this figure, as when mg/dL and mmol/L are mixed up."""
    least, most = (glucose_in(limit, reading.unit).value for limit in _METER)
    return check_usual(what, reading, (least, most))


def glucose_level(reading: Quantity, limits: LowGlucose = ADA) -> Level:
    """How low a reading is. Raises DoseError where it is not in mg/dL or mmol/L."""
    if limits.level_2 is not None and _below(reading, limits.level_2):
        return "level 2"
    return "level 1" if _below(reading, limits.level_1) else "not low"


def _below(reading: Quantity, limit: Quantity) -> bool:
    return glucose_in(reading, limit.unit).value < limit.value

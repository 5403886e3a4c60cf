"""Levels of low blood glucose as the guidance draws them, on the reading itself and never on a rounded one."""

import pytest

from companion.dose.glucose import ADA, JBDS, LowGlucose, glucose_cautions, glucose_level, parse_glucose
from companion.errors import DoseError
from tests.dose import sources


@pytest.mark.parametrize(
    ("reading", "limits", "level", "source"),
    [
        ("70 mg/dL", ADA, "not low", sources.ADA),
        ("69 mg/dL", ADA, "level 1", sources.ADA),
        ("54 mg/dL", ADA, "level 1", sources.ADA),
        ("53 mg/dL", ADA, "level 2", sources.ADA),
        ("69.9 mg/dL", ADA, "level 1", sources.ADA + ", before rounding to 70"),
        ("53.9 mg/dL", ADA, "level 2", sources.ADA + ", before rounding to 54"),
        ("3.9 mmol/L", ADA, "not low", sources.COMPUTED + ": 70.26 mg/dL"),
        ("3.88 mmol/L", ADA, "level 1", sources.COMPUTED + ": 69.90 mg/dL, 70 if rounded first"),
        ("3.0 mmol/L", ADA, "level 1", sources.COMPUTED + ": 54.05 mg/dL"),
        ("2.99 mmol/L", ADA, "level 2", sources.COMPUTED + ": 53.87 mg/dL, 54 if rounded first"),
        ("4.0 mmol/L", JBDS, "not low", sources.JBDS),
        ("3.9 mmol/L", JBDS, "level 1", sources.JBDS),
        ("72 mg/dL", JBDS, "level 1", sources.COMPUTED + ": 3.9966 mmol/L, 4.0 if rounded first"),
        ("73 mg/dL", JBDS, "not low", sources.COMPUTED + ": 4.052 mmol/L"),
    ],
)
def test_the_level_of_a_reading(reading: str, limits: LowGlucose, level: str, source: str) -> None:
    assert glucose_level(parse_glucose(reading), limits) == level, source


@pytest.mark.parametrize("text", ["70", "70 mg", "70 mg/mL", "4 mmol", "-4 mmol/L", "0 mg/dL", "LO"])
def test_what_is_no_reading_is_refused(text: str) -> None:
    with pytest.raises(DoseError, match="blood glucose"):
        parse_glucose(text)


def test_a_figure_in_the_other_unit_is_remarked_on() -> None:
    # common practice: meters show from about 20 to 600 mg/dL, 1.1 to 33.3 mmol/L
    assert "below the usual least, 20 mg per dL" in glucose_cautions(parse_glucose("5.5 mg/dL"))[0]
    assert "above the usual most" in glucose_cautions(parse_glucose("100 mmol/L"))[0]
    assert glucose_cautions(parse_glucose("5.5 mmol/L")) == ()
    with pytest.raises(DoseError, match="ten times"):
        parse_glucose("400 mmol/L")

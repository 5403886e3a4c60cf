"""Conversions between units, against figures of published guidance and the metric system itself."""

from decimal import Decimal
from typing import Literal

import pytest

from companion.dose import parse_quantity
from companion.dose.conversions import convert
from companion.errors import DoseError
from companion.speech.numbers import half_up
from tests.dose.sources import COMPUTED, A, F

GLUCOSE = "180.156 g/mol, so mg/dL / 18.0156 = mmol/L; " + COMPUTED
POUND = "international yard and pound agreement, 1959: 0.45359237 kg"
METRIC = "the metric system"


@pytest.mark.parametrize(
    ("given", "to", "pounds", "places", "answer", "source"),
    [
        ("70 mg/dL", "mmol/L", "2.2", 3, "3.886", GLUCOSE),
        ("54 mg/dL", "mmol/L", "2.2", 3, "2.997", GLUCOSE),
        ("100 mg/dL", "mmol/L", "2.2", 3, "5.551", GLUCOSE),
        ("7 mmol/L", "mg/dL", "2.2", 2, "126.11", GLUCOSE),
        ("143 lb", "kg", "2.2", 4, "65", A),
        ("200 lb", "kg", "2.2", 2, "90.91", F),
        ("65 kg", "lb", "2.2", 2, "143", A),
        ("1 lb", "kg", "exact", 8, "0.45359237", POUND),
        ("200 lb", "kg", "exact", 6, "90.718474", POUND),
        ("45.359237 kg", "lb", "exact", 6, "100", POUND),
        ("0.5 g", "mg", "2.2", 6, "500", METRIC),
        ("250 mcg", "mg", "2.2", 6, "0.25", METRIC),
        ("0.125 mg", "mcg", "2.2", 6, "125", METRIC),
        ("1.5 L", "mL", "2.2", 6, "1500", METRIC),
        ("90 min", "h", "2.2", 6, "1.5", METRIC),
        ("600 mcg/min", "mg/h", "2.2", 6, "36", METRIC),
    ],
)
def test_a_conversion(
    given: str, to: str, pounds: Literal["2.2", "exact"], places: int, answer: str, source: str
) -> None:
    found = convert(parse_quantity(given), to, pounds).exact
    assert half_up(found.value, places) == Decimal(answer), source
    assert str(found.unit) == to


@pytest.mark.parametrize(
    ("given", "to"),
    [("5 mg", "mL"), ("5 units", "mg"), ("5 mmol", "mg"), ("5 mg", "kg"), ("5 mL/h", "mL"), ("5 mEq", "mmol")],
)
def test_what_is_no_measure_of_the_same_thing_is_refused(given: str, to: str) -> None:
    with pytest.raises(DoseError, match="cannot be given in"):
        convert(parse_quantity(given), to)

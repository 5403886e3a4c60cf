"""Figures among a few, and dates as packages print them."""

from datetime import date
from decimal import Decimal

import pytest

from companion.errors import UsageError
from companion.meaning.typed import parse_typed
from companion.procedure.kinds.reading import alerts
from companion.procedure.step_parts import Alert
from companion.speech.value_phrases import phrases_for
from companion.speech.values import DateValue, NumberValue

TODAY = date(2029, 11, 10)
EXPIRY = DateValue(type="date", earliest=-90, latest=1095, precision="month or day")
# Giving sets deliver 10, 15, 20 or 60 drops/mL (US Army, Pharmacology Math for the Practical Nurse, MD0904).
FACTOR = NumberValue.model_validate({"type": "number", "unit": "drops/mL", "among": ["10", "15", "20", "60"]})
EXPIRED = Alert.model_validate({"branch": "expired", "below": "0"})


@pytest.mark.parametrize(
    ("said", "day", "passes"),
    [
        ("november twenty twenty nine", "2029-11-30", True),
        ("five november twenty twenty nine", "2029-11-05", False),
        ("november fifth twenty twenty nine", "2029-11-05", False),
        ("the tenth of november twenty twenty nine", "2029-11-10", True),
        ("october twenty twenty nine", "2029-10-31", False),
        ("november twenty thirty two", None, True),
        ("october twenty thirty two", "2032-10-31", True),
    ],
)
def test_a_month_runs_to_its_end_and_a_printed_day_counts(said: str, day: str | None, passes: bool) -> None:
    """CDC, Vaccine Storage and Handling Toolkit: with month and year alone it may be used through the last day."""
    value = phrases_for(EXPIRY, TODAY).get(said)
    assert (None if value is None else value.text) == day
    if value is not None:
        assert alerts(EXPIRED, value, TODAY) != passes


@pytest.mark.parametrize(
    ("typed", "day"), [("2029-11", "2029-11-30"), ("11/2029", "2029-11-30"), ("2029-11-05", "2029-11-05")]
)
def test_it_is_typed_either_way(typed: str, day: str) -> None:
    assert parse_typed(EXPIRY, typed, TODAY).text == day


def test_only_the_figures_named_can_be_said_or_typed() -> None:
    said = phrases_for(FACTOR, TODAY)
    assert {value.text for value in said.values()} == {"10", "15", "20", "60"}
    assert "fifty drops per milliliter" not in said and said["fifteen drops per milliliter"].text == "15"
    assert parse_typed(FACTOR, "60 drops/mL", TODAY).decimal() == Decimal(60)
    with pytest.raises(UsageError, match="10, 15, 20, 60 drops/mL"):
        parse_typed(FACTOR, "50 drops/mL", TODAY)

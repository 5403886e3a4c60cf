"""Values from the keyboard, with their near misses."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from companion.errors import UsageError
from companion.meaning.typed import accepted, parse_typed
from companion.procedure.step_parts import Alert
from companion.speech.value_phrases import phrases_for, say_value, values_of
from companion.speech.values import ValueSpec

TODAY = date(2026, 1, 20)
ADAPTER: TypeAdapter[ValueSpec] = TypeAdapter(ValueSpec)


def spec(**fields: object) -> ValueSpec:
    return ADAPTER.validate_python(fields)


UNITS = spec(type="number", unit="units", least=Decimal(1), most=Decimal(100))
MANY = spec(type="number", unit="units", least=Decimal(0), most=Decimal(25000), by=Decimal(100))
ML = spec(type="number", unit="mL", least=Decimal("0.01"), most=Decimal(10), by=Decimal("0.01"))
STRENGTH = spec(type="number", unit="units/mL", least=Decimal(40), most=Decimal(500), by=Decimal(20))
DAY = spec(type="date", earliest=-28, latest=0)
MONTH = spec(type="date", earliest=0, latest=900, precision="month")
TIME = spec(type="time")
TAG = spec(type="tag")
SITE = spec(type="choice", choices=("left thigh", "right thigh", "Rapid-acting", "U-100"))


@pytest.mark.parametrize(
    ("wanted", "typed", "text"),
    [
        (UNITS, "14 units", "14"),
        (UNITS, " 14   Units ", "14"),
        (UNITS, "1 unit", "1"),
        (UNITS, "fourteen units", "14"),
        (UNITS, "Forty-five units", "45"),
        (UNITS, "one four units", "14"),
        (MANY, "1,500 units", "1500"),
        (MANY, "1500 units", "1500"),
        (MANY, "fifteen hundred units", "1500"),
        (ML, "0.14 mL", "0.14"),
        (ML, "0.14 ml", "0.14"),
        (ML, "0.14 milliliters", "0.14"),
        (ML, "zero point one four milliliters", "0.14"),
        (ML, "half a milliliter", "0.5"),
        (ML, "5 mL", "5"),
        (STRENGTH, "100 units/mL", "100"),
        (STRENGTH, "100 units per milliliter", "100"),
        (DAY, "2026-01-05", "2026-01-05"),
        (DAY, "January fifth", "2026-01-05"),
        (DAY, "the fifth of January, twenty twenty-six", "2026-01-05"),
        (DAY, "5 January 2026", "2026-01-05"),
        (DAY, "jan 5th, 2026", "2026-01-05"),
        (DAY, "5th of january 2026", "2026-01-05"),
        (MONTH, "2028-03", "2028-03-31"),
        (MONTH, "03/2028", "2028-03-31"),
        (MONTH, "march 2028", "2028-03-31"),
        (MONTH, "MAR 2028", "2028-03-31"),
        (MONTH, "March twenty twenty-eight", "2028-03-31"),
        (TIME, "14:30", "14:30"),
        (TIME, "0815", "08:15"),
        (TIME, "fourteen thirty", "14:30"),
        (TAG, "41", "41"),
        (TAG, "07", "07"),
        (TAG, "four one", "41"),
        (SITE, "Left thigh", "left thigh"),
        (SITE, "rapid acting", "Rapid-acting"),
        (SITE, "u-100", "U-100"),
        (SITE, "U one hundred", "U-100"),
    ],
)
def test_taken(wanted: ValueSpec, typed: str, text: str) -> None:
    value = parse_typed(wanted, typed, TODAY)
    assert value.text == text
    assert value.unit == getattr(wanted, "unit", "")


# Which writings are refused stands in tests/data/writings.tsv.
@pytest.mark.parametrize(
    ("wanted", "typed", "fault"),
    [
        (UNITS, "", "nothing was typed"),
        (UNITS, "14 mL", "`mL` is not the unit asked for, units"),
        (UNITS, "14 units 15 units", "goes on after its unit with `15 units`"),
        (UNITS, "fourteen milliliters", "`mL` is not the unit asked for, units"),
        (UNITS, "200 units", "200 units is outside the plausible range"),
        (UNITS, "two hundred units", "200 units is outside the plausible range"),
        (UNITS, "-5 units", "-5 units is outside the plausible range"),
        (UNITS, "0 units", "0 units is outside the plausible range"),
        (UNITS, "14.5 units", "14.5 units is not on a step"),
        (UNITS, "٣ units", "does not begin with a number in figures"),
        (UNITS, "1" * 500 + " units", "is too long to be a quantity"),
        (ML, "0.145 mL", "0.145 mL is not on a step"),
        (ML, "0.00000001 mL", "more than 6 decimal places"),
        (ML, "half", "has no unit"),
        (ML, "mL", "does not begin with a number"),
        (DAY, "2026-01-30", "`2026-01-30` is not a date that fits here"),
        (DAY, "2026-02-30", "`2026-02-30` is not a date that fits here"),
        (DAY, "05/01/2026", "`05/01/2026` does not tell the day from the month"),
        (DAY, "5.1.26", "does not tell the day from the month"),
        (DAY, "2026-01", "`2026-01` is not a date that fits here"),
        (DAY, "January thirtieth", "is not a date that fits here"),
        (MONTH, "2031-01", "`2031-01` is not a month in the range"),
        (MONTH, "January 2031", "`January 2031` is not a month in the range"),
        (MONTH, "5 March 2028", "`5 March 2028` is not a date that fits here"),
        (MONTH, "march 20 28", "`march 20 28` is not a date that fits here"),
        (DAY, "5 January 6 2026", "is not a date that fits here"),
        (DAY, "5 January", "is not a date that fits here"),
        (MONTH, "2028-13", "`2028-13` is not a date that fits here"),
        (MONTH, "2028-03-31", "is not a date that fits here"),
        (MONTH, "03/28", "is not a date that fits here"),
        (TIME, "8:15", "`8:15` is not a time that fits here"),
        (TIME, "eight fifteen", "is not a time that fits here"),
        (TIME, "14:32", "`14:32` is not a time that fits here"),
        (TIME, "24:00", "`24:00` is not a time that fits here"),
        (TIME, "2:30 pm", "is not a time that fits here"),
        (TAG, "4", "`4` is not a tag that fits here"),
        (TAG, "415", "`415` is not a tag that fits here"),
        (TAG, "forty one", "is not a tag that fits here"),
        (SITE, "thigh", "`thigh` is not one of the choices"),
        (SITE, "left", "`left` is not one of the choices"),
    ],
)
def test_refused_in_one_sentence(wanted: ValueSpec, typed: str, fault: str) -> None:
    with pytest.raises(UsageError) as refused:
        parse_typed(wanted, typed, TODAY)
    message = str(refused.value)
    assert fault in message
    assert "accepted:" in message
    assert "\n" not in message


ALL = [UNITS, MANY, ML, STRENGTH, DAY, MONTH, TIME, TAG, SITE]


@pytest.mark.parametrize("wanted", ALL, ids=lambda s: str(s)[:50])
def test_every_value_may_be_typed_as_written_and_as_said(wanted: ValueSpec) -> None:
    for value in list(values_of(wanted, TODAY))[::7]:
        assert parse_typed(wanted, say_value(value, wanted), TODAY) == value
        written = value.text[:7] if wanted is MONTH else value.written()
        assert parse_typed(wanted, written, TODAY) == value


@pytest.mark.parametrize("wanted", ALL, ids=lambda s: str(s)[:50])
def test_every_phrase_may_be_typed(wanted: ValueSpec) -> None:
    for digits_only in (False, True):
        for phrase, value in list(phrases_for(wanted, TODAY, digits_only).items())[::13]:
            assert parse_typed(wanted, phrase, TODAY) == value


@pytest.mark.parametrize("wanted", ALL, ids=lambda s: str(s)[:50])
def test_the_example_given_is_accepted(wanted: ValueSpec) -> None:
    words = accepted(wanted, TODAY)
    examples = words.split("`")[1::2] or words.split(", ")
    assert examples
    for example in examples:
        parse_typed(wanted, example, TODAY)


def test_a_day_that_is_past_is_taken_and_not_offered() -> None:
    """A maker's date that has passed has to be said, so that the vial is put aside; nobody is asked for one."""
    wanted = spec(type="date", earliest=-365, latest=1095, precision="month")
    past = (Alert(below=Decimal(0), branch="too-old"),)
    assert parse_typed(wanted, "november 2025", TODAY, alerted=past).text == "2025-11-30"
    with pytest.raises(UsageError, match="accepted: a month from 2026-01 to 2028-12") as refused:
        parse_typed(wanted, "june 2031", TODAY, alerted=past)
    assert "2025" not in str(refused.value)


@pytest.mark.parametrize("by", [1, 7, 25, 60])
def test_the_example_of_a_time_is_on_a_step(by: int) -> None:
    wanted = spec(type="time", by=by)
    parse_typed(wanted, accepted(wanted, TODAY).split("`")[1], TODAY)


def test_a_range_without_a_month_end_says_so() -> None:
    with pytest.raises(UsageError, match="no month ends within the range"):
        parse_typed(spec(type="date", earliest=0, latest=3, precision="month"), "2026-01", TODAY)


@given(st.sampled_from(ALL), st.text(max_size=30))
@settings(deadline=None)
def test_any_text_is_a_value_in_range_or_refused(wanted: ValueSpec, typed: str) -> None:
    try:
        value = parse_typed(wanted, typed, TODAY)
    except UsageError:
        return
    assert value in set(values_of(wanted, TODAY))


def test_other_languages_take_figures_and_choices() -> None:
    assert parse_typed(UNITS, "14 units", TODAY, "ko").text == "14"
    assert parse_typed(DAY, "2026-01-05", TODAY, "ko").text == "2026-01-05"
    assert parse_typed(spec(type="choice", choices=("왼쪽", "오른쪽")), "왼쪽", TODAY, "ko").text == "왼쪽"
    with pytest.raises(UsageError, match="does not begin with a number in figures"):
        parse_typed(UNITS, "열네 단위", TODAY, "ko")
    with pytest.raises(UsageError, match="is not a time that fits here"):
        parse_typed(TIME, "fourteen thirty", TODAY, "ko")

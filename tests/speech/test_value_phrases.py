"""Phrase sets of whole ranges: complete, clean, and never two values for one phrase."""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from companion.errors import DoseError, UsageError
from companion.hearing.pronunciation import unknown_words
from companion.speech.units import WRITTEN_UNITS, unit_name
from companion.speech.value_phrases import MOST_PHRASES, phrases_for, say_value, values_of
from companion.speech.values import Value, ValueSpec

TODAY = date(2026, 1, 20)
LEAP_DAY = date(2028, 2, 29)
ADAPTER: TypeAdapter[ValueSpec] = TypeAdapter(ValueSpec)


def spec(**fields: object) -> ValueSpec:
    return ADAPTER.validate_python(fields)


def number(unit: str, least: str, most: str, by: str = "1") -> ValueSpec:
    return spec(type="number", unit=unit, least=Decimal(least), most=Decimal(most), by=Decimal(by))


WIDE = [
    number("units", "1", "100"),
    number("units", "0", "1000"),
    number("units", "0", "300", "0.5"),
    number("mL", "0", "10", "0.01"),
    number("mL", "0.01", "1", "0.001"),
    number("units", "0", "25000", "25"),
    number("mg/dL", "20", "600"),
    number("mmol/L", "0", "40", "0.1"),
    number("°C", "-20", "45", "0.1"),
    spec(type="date", earliest=-28, latest=0),
    spec(type="date", earliest=-364, latest=0),
    spec(type="date", earliest=-500, latest=500),
    spec(type="date", earliest=-1000, latest=4000, precision="month"),
    spec(type="date", earliest=-90, latest=2000, precision="month or day"),
    spec(type="number", unit="drops/mL", among=["10", "15", "20", "60"]),
    spec(type="time"),
    spec(type="time", by=1),
    spec(type="time", by=60),
    spec(type="tag", digits=2),
    spec(type="tag", digits=3),
    spec(type="choice", choices=("left", "right", "Upper-outer buttock (left)", "U-100", "4 mm needle")),
]


@pytest.mark.parametrize("today", [TODAY, LEAP_DAY], ids=str)
@pytest.mark.parametrize("wide", WIDE, ids=lambda s: str(s)[:60])
def test_wide_ranges(wide: ValueSpec, today: date) -> None:
    said = phrases_for(wide, today)
    digits = phrases_for(wide, today, digits_only=True)
    for phrases in (said, digits):
        assert list(dict.fromkeys(v.text for v in phrases.values())) == [v.text for v in values_of(wide, today)]
        assert len(phrases) <= MOST_PHRASES
        assert all(re.fullmatch(r"[a-z]+( [a-z]+)*", phrase) for phrase in phrases)
    # After a miss both sets are open at once.
    assert all(said[phrase] == digits[phrase] for phrase in said.keys() & digits.keys())


@pytest.mark.parametrize("wide", WIDE, ids=lambda s: str(s)[:60])
def test_what_is_read_back_may_be_said(wide: ValueSpec) -> None:
    phrases = phrases_for(wide, TODAY)
    first: dict[str, str] = {}
    for phrase, value in phrases.items():
        first.setdefault(value.text, phrase)
    for value in values_of(wide, TODAY):
        said = say_value(value, wide)
        if value.type != "choice":
            assert said.lower() == first[value.text]


@given(
    st.integers(-400, 100),
    st.integers(0, 600),
    st.dates(date(1999, 1, 1), date(2120, 1, 1)),
    st.sampled_from(["day", "month"]),
)
@settings(max_examples=30, deadline=None)
def test_dates_of_any_range_are_told_apart(earliest: int, length: int, today: date, precision: str) -> None:
    dates = spec(type="date", earliest=earliest, latest=earliest + length, precision=precision)
    heard = {value.text for value in phrases_for(dates, today).values()}
    assert heard == {value.text for value in values_of(dates, today)}


@pytest.mark.parametrize(
    ("wanted", "phrases"),
    [
        (number("units", "1", "100"), {"fourteen units": "14", "one unit": "1", "a hundred units": "100"}),
        (number("units", "1", "120"), {"one hundred five units": "105", "one hundred and five units": "105"}),
        (
            number("mL", "0", "3", "0.01"),
            {
                "zero point one four milliliters": "0.14",
                "point one four milliliters": "0.14",
                "oh point one four milliliters": "0.14",
                "one point four milliliters": "1.4",
                "half a milliliter": "0.5",
                "two and a half milliliters": "2.5",
                "zero point oh five milliliters": "0.05",
            },
        ),
        (number("units/mL", "40", "500", "20"), {"one hundred units per milliliter": "100"}),
        (number("mL/h", "0", "250"), {"one milliliter per hour": "1", "sixty milliliters per hour": "60"}),
        (number("%", "0", "100"), {"seventy percent": "70", "one percent": "1"}),
        (number("mmHg", "60", "200"), {"one hundred twenty millimeters of mercury": "120"}),
        (
            spec(type="date", earliest=-28, latest=0),
            {
                "five january": "2026-01-05",
                "january five": "2026-01-05",
                "january fifth": "2026-01-05",
                "fifth of january": "2026-01-05",
                "the fifth of january": "2026-01-05",
                "the fifth of january twenty twenty six": "2026-01-05",
                "january fifth two thousand twenty six": "2026-01-05",
                "december thirty first": "2025-12-31",
            },
        ),
        (
            spec(type="date", earliest=0, latest=1500, precision="month"),
            {"march twenty twenty eight": "2028-03-31", "february two thousand and twenty eight": "2028-02-29"},
        ),
        (
            spec(type="time"),
            {
                "fourteen thirty": "14:30",
                "zero eight hundred": "08:00",
                "oh eight fifteen": "08:15",
                "eight hundred hours": "08:00",
                "fourteen hundred": "14:00",
                "fourteen oh five": "14:05",
                "midnight": "00:00",
                "noon": "12:00",
            },
        ),
        (spec(type="tag"), {"four one": "41", "oh seven": "07", "zero seven": "07"}),
        (spec(type="tag", digits=3), {"four oh one": "401"}),
        (
            spec(type="choice", choices=("left thigh", "Rapid-acting", "U-100")),
            {"left thigh": "left thigh", "rapid acting": "Rapid-acting", "u one hundred": "U-100"},
        ),
    ],
)
def test_phrases_people_use(wanted: ValueSpec, phrases: dict[str, str]) -> None:
    # Wordings: common practice; the 24-hour clock as nurses chart it, common practice.
    found = phrases_for(wanted, TODAY)
    assert {phrase: found[phrase].text for phrase in phrases} == phrases


@pytest.mark.parametrize(
    ("wanted", "phrase"),
    [
        (number("units", "1", "100"), "fourteen"),  # a number without its unit
        (number("units", "1", "100"), "fourteen milliliters"),
        (number("units", "1", "100"), "one four units"),  # only when asked again
        (number("units", "1", "100"), "one hundred five units"),
        (number("units", "1", "100"), "zero units"),
        (number("mL", "0", "3", "0.01"), "point fourteen milliliters"),
        (number("mL", "0", "3", "0.01"), "one point zero milliliters"),
        (number("mL", "0", "3", "0.1"), "zero point one four milliliters"),
        (spec(type="date", earliest=-28, latest=0), "january thirtieth"),
        (spec(type="date", earliest=-500, latest=0), "january fifth"),  # of which year?
        (spec(type="date", earliest=0, latest=900, precision="month"), "three twenty twenty eight"),
        (spec(type="date", earliest=0, latest=900, precision="month"), "march"),
        (spec(type="time"), "eight fifteen"),  # morning or evening?
        (spec(type="time"), "fourteen thirty two"),
        (spec(type="time"), "oh oh fifteen"),  # heard as two oh
        (spec(type="tag"), "forty one"),
    ],
)
def test_phrases_left_out(wanted: ValueSpec, phrase: str) -> None:
    assert phrase not in phrases_for(wanted, TODAY)


@pytest.mark.parametrize(
    ("wanted", "phrase", "text"),
    [
        (number("units", "1", "100"), "one four units", "14"),
        (number("units", "1", "1000"), "one oh five units", "105"),
        (number("mL", "0", "3", "0.01"), "point one four milliliters", "0.14"),
        (number("mL", "0", "3", "0.01"), "zero point one four milliliters", "0.14"),
        (spec(type="date", earliest=-28, latest=0), "january one five", "2026-01-15"),
        (spec(type="date", earliest=-500, latest=0), "january five two zero two six", "2026-01-05"),
        (spec(type="date", earliest=0, latest=900, precision="month"), "march two oh two eight", "2028-03-31"),
        (spec(type="time"), "one four three zero", "14:30"),
        (spec(type="time"), "oh eight one five", "08:15"),
    ],
)
def test_digit_by_digit_when_asked_again(wanted: ValueSpec, phrase: str, text: str) -> None:
    assert phrases_for(wanted, TODAY, digits_only=True)[phrase].text == text


def test_the_year_may_be_left_unsaid_only_while_no_day_comes_twice() -> None:
    year = 365
    assert "january fifth" in phrases_for(spec(type="date", earliest=1 - year, latest=0), TODAY)
    assert "january fifth" not in phrases_for(spec(type="date", earliest=-year, latest=0), TODAY)


def test_month_means_its_last_day() -> None:
    months = spec(type="date", earliest=-800, latest=800, precision="month")
    for value in phrases_for(months, TODAY).values():
        assert (date.fromisoformat(value.text) + timedelta(days=1)).day == 1


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (Value(type="number", text="14", unit="units"), "fourteen units"),
        (Value(type="number", text="1", unit="units"), "one unit"),
        (Value(type="number", text="0.14", unit="mL"), "zero point one four milliliters"),
        (Value(type="number", text="100", unit="units/mL"), "one hundred units per milliliter"),
        (Value(type="number", text="1", unit="mL/h"), "one milliliter per hour"),
        (Value(type="date", text="2026-01-05"), "the fifth of January twenty twenty six"),
        (Value(type="date", text="2031-08-31"), "the thirty first of August twenty thirty one"),
        (Value(type="time", text="14:30"), "fourteen thirty"),
        (Value(type="time", text="08:05"), "zero eight zero five"),
        (Value(type="time", text="08:00"), "zero eight hundred hours"),
        (Value(type="tag", text="41"), "four one"),
        (Value(type="choice", text="left thigh"), "left thigh"),
        (Value(type="choice", text="U-100"), "U one hundred"),
    ],
)
def test_read_back(value: Value, said: str) -> None:
    assert say_value(value) == said


def test_month_is_read_back_as_a_month() -> None:
    months = spec(type="date", earliest=0, latest=900, precision="month")
    assert say_value(Value(type="date", text="2028-03-31"), months) == "March twenty twenty eight"


def test_other_languages_give_values_as_written() -> None:
    assert say_value(Value(type="number", text="14", unit="mL"), language="ko") == "14 mL"


@pytest.mark.parametrize("unit", ["U", "IU", "cc", "µg", "furlongs", "mL/", "/mL", "units per"])
def test_unknown_unit_names_those_accepted(unit: str) -> None:
    # Error-prone abbreviations: ISMP list, 2021.
    with pytest.raises(DoseError, match=rf"`{re.escape(unit)}` is not a unit that can be said; accepted: units, mL"):
        phrases_for(number(unit, "1", "2"), TODAY)


def test_the_embedded_recogniser_can_hear_every_word() -> None:
    # CMUdict as PocketSphinx carries it, with this project's lexicon of clinical words.
    phrases = [phrase for wide in WIDE for digits in (False, True) for phrase in phrases_for(wide, TODAY, digits)]
    names = [unit_name(unit) for unit in WRITTEN_UNITS]
    assert unknown_words([*phrases, *(name.one for name in names), *(name.many for name in names)]) == ()


def test_units_by_name() -> None:
    assert unit_name("units per milliliter") == unit_name("units/mL")
    assert unit_name("ml") == unit_name("mL")
    assert unit_name("kg").one == "kilogram"
    assert unit_name("g") != unit_name("G")


def test_choices_that_sound_alike_are_refused() -> None:
    with pytest.raises(DoseError, match=r"`left arm` could mean left arm or Left-arm"):
        phrases_for(spec(type="choice", choices=("left arm", "Left-arm")), TODAY)


@pytest.mark.parametrize("nothing", ["...", "--"])
def test_choice_that_cannot_be_said_is_refused(nothing: str) -> None:
    with pytest.raises(UsageError, match="cannot be said"):
        phrases_for(spec(type="choice", choices=("left", nothing)), TODAY)


def test_only_choices_are_known_in_other_languages() -> None:
    choices = spec(type="choice", choices=("왼쪽", "오른쪽"))
    assert list(phrases_for(choices, TODAY, language="ko")) == ["왼쪽", "오른쪽"]
    with pytest.raises(UsageError, match="English only"):
        phrases_for(number("mL", "1", "2"), TODAY, language="ko")


def test_nought_is_british() -> None:
    wanted = number("mL", "0", "1", "0.01")
    assert "nought point one four milliliters" in phrases_for(wanted, TODAY, language="en-GB")
    assert "nought point one four milliliters" not in phrases_for(wanted, TODAY, language="en-US")


def test_a_caller_cannot_spoil_the_next_answer() -> None:
    wanted = number("units", "1", "5")
    phrases_for(wanted, TODAY).clear()
    assert len(phrases_for(wanted, TODAY)) == 5

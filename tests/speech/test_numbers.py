"""Numbers said and heard, against num2words and text2num, two libraries that know nothing of this project."""

import re
from decimal import Decimal
from itertools import chain

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from companion.errors import CompanionError, DoseError
from companion.speech.numbers import (
    NumberError,
    digit_forms,
    natural_forms,
    parse_number,
    plain,
    say_number,
    spoken_forms,
)
from tests.realparts import need

try:
    from text_to_num import alpha2digit, text2num
except ImportError:
    text2num = alpha2digit = None

WHOLE = [Decimal(n) for n in range(1001)]
HUNDREDTHS = [Decimal(n) / 100 for n in range(1001)]
ALL = list(dict.fromkeys(WHOLE + HUNDREDTHS))
WORDS = (
    "a",
    "and",
    "point",
    "oh",
    "half",
    "zero",
    "one",
    "two",
    "five",
    "ten",
    "thirteen",
    "twenty",
    "hundred",
    "thousand",
)
DIGITS = {"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "oh", "nought", "point"}
SAYABLE = st.decimals(min_value=Decimal("-999999"), max_value=Decimal("999999999"), places=6, allow_nan=False) | (
    st.integers(min_value=-9999, max_value=999_999_999).map(Decimal)
)


@pytest.mark.parametrize(
    ("number", "said"),
    [
        ("0", "zero"),
        ("14", "fourteen"),
        ("40", "forty"),
        ("45", "forty five"),
        ("100", "one hundred"),
        ("105", "one hundred five"),
        ("1000", "one thousand"),
        ("25000", "twenty five thousand"),
        ("0.14", "zero point one four"),
        ("0.05", "zero point zero five"),
        ("1.4", "one point four"),
        ("37.5", "thirty seven point five"),
        ("-5", "minus five"),
        ("5.0", "five"),
        ("1E+3", "one thousand"),
    ],
)
def test_the_one_form_spoken(number: str, said: str) -> None:
    # Leading zero always, trailing zero never: Joint Commission "Do Not Use" list. Wording: common practice.
    assert say_number(Decimal(number)) == said


def test_spoken_form_is_that_of_num2words_without_and() -> None:
    for number in ALL:
        whole, point, tail = num2words(Decimal(plain(number))).partition(" point ")
        assert say_number(number) == re.sub(r"-| and ", " ", whole.replace(",", "")) + point + tail


def test_cardinals_are_read_back_by_text2num() -> None:
    need(text2num is not None, "text2num is missing: pip install 'procedure-companion[dev]'")
    for n in chain(range(0, 2000), range(2000, 1_000_000, 997)):
        assert text2num(say_number(Decimal(n)), "en") == n
        assert parse_number(say_number(Decimal(n))) == n


def test_decimals_are_read_back_by_text2num() -> None:
    need(alpha2digit is not None, "text2num is missing: pip install 'procedure-companion[dev]'")
    for number in HUNDREDTHS:
        assert Decimal(alpha2digit(say_number(number), "en", threshold=0)) == number


def test_every_spoken_form_is_understood() -> None:
    for number in ALL:
        for form in spoken_forms(number):
            assert parse_number(form) == number, form
            assert re.fullmatch(r"[a-z]+( [a-z]+)*", form)


def test_no_two_numbers_share_a_form() -> None:
    meant: dict[str, Decimal] = {}
    for number in ALL + [Decimal(n) for n in range(1001, 12_000)]:
        for form in spoken_forms(number):
            assert meant.setdefault(form, number) == number, form


@given(SAYABLE)
@settings(deadline=None)
def test_round_trip_of_any_number(number: Decimal) -> None:
    for form in spoken_forms(number):
        assert parse_number(form) == number


@given(SAYABLE, SAYABLE)
@settings(deadline=None)
def test_two_numbers_never_sound_the_same(one: Decimal, other: Decimal) -> None:
    if one != other:
        assert not set(spoken_forms(one)) & set(spoken_forms(other))


@given(st.lists(st.sampled_from(WORDS)))
@settings(deadline=None)
def test_any_words_are_one_number_or_refused(words: list[str]) -> None:
    text = " ".join(words)
    try:
        number = parse_number(text)
    except NumberError:
        return
    assert text in spoken_forms(number)


@pytest.mark.parametrize(
    ("said", "number"),
    [
        ("one four", "14"),
        ("one oh five", "105"),
        ("one hundred and five", "105"),
        ("a hundred and five", "105"),
        ("twelve hundred", "1200"),
        ("point one four", "0.14"),
        ("oh point one four", "0.14"),
        ("nought point one four", "0.14"),
        ("naught point oh five", "0.05"),
        ("a half", "0.5"),
        ("two and a half", "2.5"),
        ("Forty-Two", "42"),
        ("  forty   two ", "42"),
        ("one two point five", "12.5"),
        ("negative five", "-5"),
    ],
)
def test_forms_people_use(said: str, number: str) -> None:
    # Common practice.
    parsed = parse_number(said)
    assert parsed == Decimal(number)
    assert isinstance(parsed, Decimal)


@pytest.mark.parametrize(
    "said",
    [
        "",
        "one twenty",
        "twenty thirteen",
        "fourteen fifteen",
        "ten to fourteen",
        "ten or fourteen",
        "about ten",
        "fourteen units",
        "no fourteen",
        "fourteen no fifteen",
        "twenty twenty",
        "twenty one four",
        "five hundred hundred",
        "hundred",
        "hundred five",
        "and five",
        "five and",
        "one and five",
        "one hundred twenty thirty",
        "one thousand one thousand",
        "zero five",
        "oh five",
        "oh",
        "zero one four",
        "point",
        "one point",
        "point fourteen",
        "one point fourteen",
        "one point two point three",
        "five point zero",
        "three point one zero",
        "zero point zero",
        "half past two",
        "and a half",
        "a",
        "a five",
        "minus",
        "minus zero",
        "fourteenth",
        "14",
        "0.14",
        "one 4",
        "fortytwo",
        "dozen",
        "one oh zero five oh",
        "one four oh zero",
        "one " * 5000,
        "hundred " * 5000,
    ],
)
def test_anything_else_is_refused_in_one_sentence(said: str) -> None:
    # word2number reads "one twenty" as 21 without a word; a dose is never guessed.
    with pytest.raises(NumberError) as refused:
        parse_number(said)
    message = str(refused.value)
    assert "accepted:" in message
    assert "\n" not in message
    assert len(message) < 300


def test_the_error_is_one_of_ours_and_a_value_error() -> None:
    assert issubclass(NumberError, DoseError)
    assert issubclass(NumberError, CompanionError)
    assert issubclass(NumberError, ValueError)


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1E+9", "-1E+40", "0.0000001"])
def test_numbers_that_cannot_be_said(number: str) -> None:
    with pytest.raises(NumberError, match="cannot be said"):
        say_number(Decimal(number))


def test_retry_forms_are_digits_only() -> None:
    for number in ALL:
        for form in digit_forms(number):
            assert set(form.split()) <= DIGITS
        assert natural_forms(number)[0] == say_number(number)

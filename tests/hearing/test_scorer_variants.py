"""The ways a phrase may be written: what must be among them, and what must not."""

import pytest

from companion.hearing.scorer.tokens import SPACE
from companion.hearing.scorer.variants import digits_in, edges_from


def writings(phrase: str) -> set[str]:
    """Every whole way to write a phrase."""
    words = tuple(phrase.split(" "))
    ways: list[set[str]] = [{""}] + [set() for _ in words]
    for start in range(len(words)):
        for end, written in edges_from(words, start):
            ways[end] |= {before + text for before in ways[start] for text in written}
    return {way.replace(SPACE, " ").strip() for way in ways[len(words)]}


@pytest.mark.parametrize(
    ("phrase", "written"),
    [
        # How recognisers trained on written English put numbers: common practice.
        ("gloves on", "Gloves on"),
        ("fourteen units", "14 units"),
        ("one four units", "14 units"),
        ("zero point one four milliliters", "0.14 mL"),
        ("zero point one four milliliters", "0.14 millilitres"),
        ("point five", "0.5"),
        ("point five", ".5"),
        ("one hundred and five", "105"),
        ("twenty one", "twenty-one"),
        ("twenty one", "21"),
        ("two and a half", "2.5"),
        ("one thousand two hundred", "1,200"),
        ("zero one four", "014"),
        ("the fifth of january twenty twenty six", "The 5th of January 2026"),
        ("twenty first", "21st"),
        ("two thirty", "2:30"),
        ("nine oh five", "9:05"),
        ("fifty percent", "50%"),
        ("okay", "OK"),
        ("iv line", "IV line"),
        ("colour has changed", "Color has changed"),
        ("recheck it", "Recheck it"),
        ("re check it", "Re-check it"),
        ("yes", "Yes"),
        ("login incorrect", "Log in incorrect"),
        ("three d audio", "3D audio"),
        ("nine a m", "9 a.m."),
    ],
)
def test_is_among_the_writings(phrase: str, written: str) -> None:
    assert written in writings(phrase)


@pytest.mark.parametrize(
    ("phrase", "written"),
    [
        ("fourteen units", "40 units"),
        ("thirteen", "30"),
        ("four units", "14 units"),
        ("five", "0.5"),
        ("zero point one four", "14"),
        ("left", "right"),
        ("therapist", "the rapist"),
    ],
)
def test_never_another_sound(phrase: str, written: str) -> None:
    assert written not in writings(phrase)


# What a recogniser trained on written English writes for a unit that it hears: common practice.
UNITS = {
    "units": "u",
    "milliliter": "millilitre ml mL",
    "milliliters": "millilitres ml mL mls mLs",
    "millilitre": "milliliter ml mL",
    "millilitres": "milliliters ml mL mls mLs",
    "mils": "mills mls mLs ml mL",
    "liter": "litre l L",
    "liters": "litres l L",
    "milligram": "mg",
    "milligrams": "mg mgs",
    "microgram": "mcg µg ug",
    "micrograms": "mcg µg ug",
    "gram": "g",
    "grams": "g",
    "kilogram": "kg",
    "kilograms": "kg",
    "kilos": "kg",
    "millimole": "mmol",
    "millimoles": "mmol",
    "centimeter": "centimetre cm",
    "centimeters": "centimetres cm",
    "millimeter": "millimetre mm",
    "millimeters": "millimetres mm",
    "percent": "% per|cent",
    "degree": "°",
    "degrees": "°",
}


@pytest.mark.parametrize("word", UNITS)
def test_how_a_unit_may_be_written_and_how_not(word: str) -> None:
    known = {each: {writing.replace("|", " ") for writing in row.split(" ")} for each, row in UNITS.items()}
    assert known[word] <= writings(word)
    assert not writings(word) & (set().union(*known.values()) - known[word] - {word})


def test_edges_cover_the_phrase_in_order() -> None:
    words = ("draw", "up", "one", "hundred", "and", "five")
    for start in range(len(words)):
        ends = [end for end, written in edges_from(words, start) if written]
        assert start + 1 in ends
        assert all(start < end <= len(words) for end in ends)


@pytest.mark.parametrize(
    ("text", "digits"),
    [
        ("fourteen units", "14"),
        ("four one", "41"),
        ("zero point one eight", "18"),
        ("0 18 ml", "18"),
        ("two thirty", "230"),
        ("the 14th", "14"),
        ("the fourteenth of may", "14"),
        ("one hundred and five", "105"),
        ("gloves are on", ""),
        ("oh dear", ""),
    ],
)
def test_the_digits_of_a_text(text: str, digits: str) -> None:
    """Common practice in reading numbers."""
    assert digits_in(text.split(" ")) == digits

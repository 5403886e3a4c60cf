"""Text as written and as a synthesiser should get it."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.speech.speakable import speakable, words_of
from companion.speech.units import WRITTEN_UNITS, unit_name

# Unit symbols: UCUM and the SI brochure as used in ISMP's list of error-prone abbreviations, 2021; wording: common
# practice.
TABLE = [
    ("Draw up 0.14 mL.", "Draw up zero point one four milliliters."),
    ("Rub for 20 s.", "Rub for twenty seconds."),
    ("18 units", "eighteen units"),
    ("1 unit", "one unit"),
    ("1 mL", "one milliliter"),
    ("0.5 mL", "zero point five milliliters"),
    (".5 mL", "zero point five milliliters"),
    ("4 mm", "four millimeters"),
    ("a 4 mm needle", "a four millimeter needle"),
    ("a 4-mm pen needle", "a four millimeter pen needle"),
    ("a 1 mL insulin syringe", "a one milliliter insulin syringe"),
    ("two 10 mL vials", "two ten milliliter vials"),
    ("70 mg/dL", "seventy milligrams per deciliter"),
    ("below 4.0 mmol/L", "below four millimoles per liter"),
    ("U-100 insulin", "U one hundred insulin"),
    ("100 units/mL", "one hundred units per milliliter"),
    ("25 mL/h", "twenty five milliliters per hour"),
    ("42 drops/min", "forty two drops per minute"),
    ("15 drops/mL", "fifteen drops per milliliter"),
    ("10 mcg/kg/min", "ten micrograms per kilogram per minute"),
    ("10 µg", "ten micrograms"),
    ("at 45° or 90°", "at forty five degrees or ninety degrees"),
    ("45-90 degrees", "forty five to ninety degrees"),
    ("5 cm from the navel", "five centimeters from the navel"),
    ("keep at 2 to 8 °C", "keep at two to eight degrees celsius"),
    ("-5 °C", "minus five degrees celsius"),
    ("at 10:30", "at ten thirty"),
    ("at 08:00.", "at zero eight hundred hours."),
    ("20-30 s", "twenty to thirty seconds"),
    ("40–60 s", "forty to sixty seconds"),
    ("20 to 30 s", "twenty to thirty seconds"),
    ("2 or 3 mL", "two or three milliliters"),
    ("60-70 % alcohol", "sixty to seventy percent alcohol"),
    ("70% alcohol", "seventy percent alcohol"),
    ("1,500 mL over 6 h", "one thousand five hundred milliliters over six hours"),
    ("for 28 days", "for twenty eight days"),
    ("1 min 30 s", "one minute thirty seconds"),
    ("a 25 G needle", "a twenty five gauge needle"),
    ("120 mmHg", "one hundred twenty millimeters of mercury"),
    ("units per mL", "units per milliliter"),
    ("How many mL?", "How many milliliters?"),
    ("Performer, tag 41.", "Performer, tag four one."),
    ("Tag 407", "Tag four zero seven"),
    ("tags 41 and 52", "tags four one and five two"),
    ("opened 2026-01-05", "opened the fifth of January twenty twenty six"),
    ("< 70 mg/dL", "less than seventy milligrams per deciliter"),
    ("±5 %", "plus or minus five percent"),
    ("14 units / 100 units/mL = 0.14 mL", "fourteen units divided by one hundred units per milliliter equals "
     "zero point one four milliliters"),
    ("0.3 mL × 2", "zero point three milliliters times 2"),
    ("3/4 full", "three quarters full"),
    ("pH 7.4", "pH seven point four"),
    ("skin, e.g. the thigh", "skin, for example the thigh"),
    ("a subcut dose", "a subcutaneous dose"),
    ("never an IV syringe", "never an I V syringe"),
]  # fmt: skip

UNTOUCHED = [
    "Put the hand rub in your palm, then tell me.",
    "step 3 of 10",
    "in the 1960s",
    "vitamin B12, H2O, COVID-19",
    "1:1,000",
    "version 1.2.3",
    "2026-13-45",
    "2026-01-05T10:30:00Z",
    "g, h, s and m",
    "I am 5 ft tall",
    "24:00",
    "and/or",
    "minutes and hours",
    "Is it right - or wrong?",
    "",
]


@pytest.mark.parametrize(("written", "spoken"), TABLE)
def test_expanded(written: str, spoken: str) -> None:
    assert speakable(written) == spoken


@pytest.mark.parametrize("text", UNTOUCHED)
def test_left_alone(text: str) -> None:
    assert speakable(text) == text


@pytest.mark.parametrize(("written", "spoken"), TABLE)
def test_twice_is_once(written: str, spoken: str) -> None:
    assert speakable(speakable(written)) == spoken


@pytest.mark.parametrize("language", ["ko", "de-DE", "fr"])
def test_other_languages_pass(language: str) -> None:
    assert speakable("0.14 mL, 20 s", language) == "0.14 mL, 20 s"


@pytest.mark.parametrize("unit", sorted(WRITTEN_UNITS))
def test_every_unit_alone_and_as_a_rate(unit: str) -> None:
    name = unit_name(unit)
    assert speakable(f"1 {unit}, 2 {unit}.") == f"one {name.one}, two {name.many}."
    assert speakable(f"2 {unit}/min") == f"two {name.many} per minute"


@given(st.text(alphabet="0123456789 .,-/%°mLgsunith:U", max_size=40))
@settings(deadline=None)
def test_any_text_is_taken(text: str) -> None:
    assert isinstance(speakable(text), str)
    assert not re.search(r"[0-9]", words_of(text))


@pytest.mark.parametrize(
    ("name", "phrase"),
    [
        ("Left thigh", "left thigh"),
        ("Rapid-acting (U-100)", "rapid acting u one hundred"),
        ("4 mm needle", "four millimeter needle"),
        ("nurse's choice", "nurse's choice"),
        ("insulin 70/30", "insulin seventy thirty"),
    ],
)
def test_names_as_phrases(name: str, phrase: str) -> None:
    assert words_of(name) == phrase

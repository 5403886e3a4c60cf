"""Figures among running words, and how units are called beside their names."""

from collections.abc import Sequence
from decimal import Decimal

import pytest

from companion.speech.running import figures
from companion.speech.units import CALLED, UNIT_SPELLINGS, is_unit, unit_called


def told(said: str) -> list[tuple[str, str]]:
    return [(str(number), unit) for number, unit in figures(said.split())]


@pytest.mark.parametrize(
    ("said", "found"),
    [
        # How figures are said at the bedside: common practice.
        ("it is eighteen units i think", [("18", "units")]),
        ("nought point two eight mils", [("0.28", "mL")]),
        ("one seventy two", [("172", "")]),
        ("one seventeen", [("117", "")]),
        ("two forty", [("240", "")]),
        ("a hundred and five", [("105", "")]),
        ("eighteen of a unit", [("18", "")]),
        ("half a milliliter", [("0.5", "mL")]),
        ("eighteen no sixteen units", [("18", ""), ("16", "units")]),
        ("two or three mics per hour", [("2", ""), ("3", "mcg/h")]),
        # A stretch that is not surely one number is none.
        ("eighteen nineteen units", []),
        ("one forty ten", []),
        ("a tray and a vial", []),
    ],
)
def test_figures_with_their_units(said: str, found: Sequence[tuple[str, str]]) -> None:
    assert told(said) == list(found)


@pytest.mark.parametrize(
    ("said", "unit"),
    [
        # A litre is 1,000 mL; the symbols and the spelling "litre" are those of the SI brochure (from memory).
        ("two litres", "L"),
        ("two liters", "L"),
        ("seventy kilos", "kg"),
        ("a hundred units per mil", "units/mL"),
        ("six point one millimoles per litre", "mmol/L"),
        ("four millimetres", "mm"),
    ],
)
def test_a_unit_spelt_elsewhere_or_named_short_is_that_unit(said: str, unit: str) -> None:
    """`Two litres` had been two of whatever unit was asked for, and `a hundred units per mil` a hundred units."""
    assert [found for _, found in told(said)] == [unit]


def test_one_letter_alone_is_no_unit_among_words() -> None:
    assert [unit_called(each) for each in ("g", "l", "u", "h", "m")] == [""] * 5
    assert unit_called("per") == unit_called("") == unit_called("units per") == ""


def test_a_name_stands_for_one_unit_in_one_table() -> None:
    assert all(is_unit(unit) for unit in CALLED.values())
    for word, writings in UNIT_SPELLINGS.items():
        known = {unit_called(each) for each in writings} - {""}
        assert unit_called(word) and known <= {unit_called(word)}, word


def test_figures_are_exact() -> None:
    assert [number for number, _ in figures(["zero", "point", "one", "four", "milliliters"])] == [Decimal("0.14")]

"""What a syringe can measure, against ISO 8537, ISO 7886-1 and the marks syringes are sold with."""

from decimal import Decimal
from fractions import Fraction

import pytest

from companion.dose import parse_quantity, parse_strength
from companion.dose.devices import parse_device, tolerance_ml
from companion.dose.measuring import measure
from companion.errors import DoseError
from tests.dose.sources import COMMON, COMPUTED, ISO_7886, ISO_8537, RMIT

U100 = parse_strength("100 units/mL")


@pytest.mark.parametrize(
    ("device", "full", "interval", "source"),
    [
        ("0.3 mL U-100 insulin syringe marked every 0.5 units", "30", "0.5", ISO_8537),
        ("0.3 mL U-100 insulin syringe marked every 1 unit", "30", "1", ISO_8537),
        ("0.5 mL U-100 insulin syringe", "50", "1", ISO_8537),
        ("1 mL U-100 insulin syringe marked every 1 unit", "100", "1", ISO_8537),
        ("1 mL U-100 insulin syringe marked every 2 units", "100", "2", ISO_8537),
        ("0.5 mL U-40 insulin syringe marked every 0.5 units", "20", "0.5", ISO_8537),
        ("0.5 mL U-40 insulin syringe marked every 1 unit", "20", "1", ISO_8537),
        ("1 mL U-40 insulin syringe", "40", "1", ISO_8537),
        ("2 mL U-40 insulin syringe marked every 1 unit", "80", "1", ISO_8537),
        ("2 mL U-40 insulin syringe marked every 2 units", "80", "2", ISO_8537),
        ("1 mL syringe", "1", "0.01", RMIT),
        ("3 mL syringe", "3", "0.1", RMIT),
        ("5 mL syringe", "5", "0.2", RMIT),
        ("10 mL syringe", "10", "0.2", RMIT),
        ("2 mL syringe", "2", "0.1", COMMON),
        ("20 mL syringe", "20", "1", COMMON),
        ("5 mL syringe marked every 0.5 mL", "5", "0.5", COMMON),
    ],
)
def test_the_scale_of_a_syringe(device: str, full: str, interval: str, source: str) -> None:
    found = parse_device(device)
    assert (found.full, found.interval, found.assumed) == (Decimal(full), Decimal(interval), False), source


def test_the_widest_marks_are_taken_where_the_standard_leaves_it_open() -> None:
    # ISO 8537 allows 1 or 2 units on a 1 mL U-100 syringe
    found = parse_device("1 mL U-100 insulin syringe")
    assert (found.interval, found.assumed) == (Decimal(2), True)
    assert any("every 2 units" in line for line in measure(Fraction("0.14"), found, U100).cautions)


@pytest.mark.parametrize(
    ("volume", "device", "marks", "fault", "source"),
    [
        ("0.07", "1 mL U-100 insulin syringe marked every 2 units", None, "Between marks", COMPUTED),
        ("0.31", "0.3 mL U-100 insulin syringe marked every 1 unit", None, "Over capacity", COMPUTED),
        ("0.3", "0.3 mL U-100 insulin syringe marked every 1 unit", "30 units", "", "30 units of U-100 = 0.30 mL"),
        ("1.6", "3 mL syringe", "1.6 mL", "", COMPUTED),
        ("0.425", "1 mL syringe", None, "Between marks", COMPUTED),
        ("0.14", "1 mL syringe", "0.14 mL", "", COMPUTED),
        ("0.14", "0.5 mL U-100 insulin syringe", "14 units", "", COMPUTED),
        ("0.075", "0.3 mL U-100 insulin syringe marked every 0.5 units", "7.5 units", "", COMPUTED),
        ("0.075", "0.3 mL U-100 insulin syringe marked every 1 unit", None, "Between marks", COMPUTED),
        ("1.01", "1 mL syringe", None, "Over capacity", COMPUTED),
        ("8.1", "10 mL syringe", None, "Between marks", COMPUTED),
        ("0.08", "1 mL syringe", None, "Too small", ISO_7886 + ", share out 0.0166 / 0.08 is over a fifth; " + COMMON),
        ("0.09", "1 mL syringe", "0.09 mL", "", ISO_7886 + ", share out 0.0168 / 0.09 is under a fifth; " + COMMON),
        ("0.2", "3 mL syringe", None, "Too small", ISO_7886 + ", share out 0.049 / 0.2 is over a fifth; " + COMMON),
        ("0.01", "0.3 mL U-100 insulin syringe marked every 1 unit", None, "Too small", COMMON),
        ("0.01", "0.3 mL U-100 insulin syringe marked every 0.5 units", "1 unit", "", COMMON),
    ],
)
def test_what_can_be_measured(volume: str, device: str, marks: str | None, fault: str, source: str) -> None:
    found = measure(Fraction(volume), parse_device(device), U100)
    if marks is None:
        assert found.marks is None, source
        assert any(line.startswith(fault) for line in found.faults), found.faults
    else:
        assert (found.written(), found.faults) == (marks, ()), source


@pytest.mark.parametrize(
    ("capacity", "expelled", "out", "source"),
    [("1", "0.2", "0.019", ISO_7886), ("1", "0.5", "0.025", ISO_7886), ("1", "1", "0.05", ISO_7886)],
)
def test_how_far_out_a_syringe_may_be(capacity: str, expelled: str, out: str, source: str) -> None:
    assert tolerance_ml(Decimal(capacity), Decimal(expelled)) == Decimal(out), source


@pytest.mark.parametrize(
    ("strength", "device", "times", "given"),
    [
        # U-100 drawn to the marks of a U-40 syringe is 2.5 times the dose, the reverse 0.4 times: computed
        ("100 units/mL", "1 mL U-40 insulin syringe", "2.5 times", "35 units"),
        ("40 units/mL", "1 mL U-100 insulin syringe", "0.4 times", "5.6 units"),
        ("500 units/mL", "1 mL U-100 insulin syringe", "5 times", "70 units"),
        ("U-300", "0.5 mL U-100 insulin syringe", "3 times", "42 units"),
    ],
)
def test_a_syringe_for_another_insulin_stops_the_work(strength: str, device: str, times: str, given: str) -> None:
    label = parse_strength(strength)
    found = measure(14 / label.base, parse_device(device), label)
    assert found.marks is None
    assert len(found.faults) == 1
    for words in ("Stop", times, given):
        assert words in found.faults[0]


def test_an_insulin_syringe_takes_nothing_but_units() -> None:
    found = measure(Fraction("0.14"), parse_device("0.5 mL U-100 insulin syringe"), parse_quantity("100 mg/mL"))
    assert found.marks is None
    assert "insulin in units only" in found.faults[0]


def test_units_in_an_ordinary_syringe_are_remarked_on() -> None:
    # NPSA Rapid Response, 2010: an insulin syringe or pen, never an IV syringe
    found = measure(Fraction("0.5"), parse_device("1 mL syringe"), U100)
    assert any("insulin syringe" in line for line in found.cautions)
    assert not measure(Fraction("0.5"), parse_device("1 mL syringe"), parse_strength("10 mg/mL")).cautions


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("spoon", "not one I know"),
        ("4 mL syringe", "no usual size"),
        ("0.5 mL insulin syringe", "which insulin"),
        ("0.7 mL U-100 insulin syringe", "ISO 8537"),
        ("1 mL U-500 insulin syringe", "ISO 8537"),
        ("0.5 mL U-100 insulin syringe marked every 3 units", "not marked so"),
        ("0.5 mL U-100 insulin syringe marked every 0.1 mL", "accepted: units"),
        ("5 mL syringe marked every 2 mL", "cannot be"),
        ("5 mL syringe marked every 0.3 mL", "cannot be"),
        ("1 cc syringe", "write `mL`"),
        ("1mL syringe", "no space"),
        ("1.0 mL syringe", "zero at the end"),
        ("3 mg syringe", "accepted: mL"),
        ("", "is empty"),
        ("pen", "the units ordered are dialed on it"),  # NHS/PSA/W/2016/011: nothing is drawn up from a pen
        ("insulin syringe", "how much it holds"),
        ("1 mL syringe U-100", "write `1 mL U-100 insulin syringe`"),
    ],
)
def test_an_unknown_device_is_refused(text: str, says: str) -> None:
    with pytest.raises(DoseError) as refused:
        parse_device(text)
    assert says in str(refused.value)

"""What is usual, so that ten times as much can be refused and a little more remarked on.

These are wide guards against slips of the unit or the point, of this project's own making, and no clinical
reference. A procedure gives narrower ones.
"""

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final

from companion.dose.quantity import Quantity
from companion.errors import DoseError
from companion.speech.units import Unit, parse_unit

Range = tuple[Fraction, Fraction]
"""Least and most that is usual, in the unit it stands beside."""

_TIMES: Final = 10

_TABLE: Final = """
mcg 0.1 5000 | mg 0.01 5000 | g 0.01 100 | mmol 0.1 500 | mEq 0.1 500 | units 0.1 5000000
mL 0.01 5000 | L 0.01 5 | min 1 1440 | h 0.05 48 | kg 0.5 300 | lb 1 660 | parts 1 24
units/mL 1 1000000 | mg/mL 0.001 1000 | mmol/mL 0.001 10 | mEq/mL 0.001 10
mL/h 0.1 2000 | drops/mL 10 60 | drops/min 1 300
units/h 0.1 100000 | mg/h 0.001 5000 | mmol/h 0.1 100 | mEq/h 0.1 100
units/day 0.1 50000000 | mg/day 0.01 20000 | mmol/day 0.1 1000 | mEq/day 0.1 1000
mg/kg 0.0001 500 | units/kg 0.01 500000 | mmol/kg 0.01 20 | mEq/kg 0.01 20
mg/kg/h 0.0001 100 | units/kg/h 0.01 5000 | mmol/kg/h 0.01 5 | mEq/kg/h 0.01 5
"""


def _read() -> dict[Unit, Range]:
    entries = (entry.split() for entry in _TABLE.replace("\n", "|").split("|") if entry.strip())
    return {parse_unit(unit): (Fraction(Decimal(least)), Fraction(Decimal(most))) for unit, least, most in entries}


USUAL: Final = _read()


@lru_cache(maxsize=512)
def usual_range(unit: Unit) -> Range | None:
    """The range for a unit, taken over from another unit of the same dimensions where it has none itself."""
    if unit in USUAL:
        return USUAL[unit]
    for known, (least, most) in USUAL.items():
        if known.dimensions == unit.dimensions:
            factor = known.size / unit.size
            return least * factor, most * factor
    return None


def check_usual(what: str, given: Quantity, usual: Range | None = None) -> tuple[str, ...]:
    """Cautions where `given` lies outside the usual range. Raises DoseError where it does so tenfold."""
    limits = usual or usual_range(given.unit)
    if limits is None:
        return ()
    least, most = limits
    words = f"{what}, {given.words()},"
    if given.value > most * _TIMES:
        raise DoseError(
            f"{words} is more than ten times the usual most, {_words(most, given)}; check the figures and unit"
        )
    if given.value < least / _TIMES:
        raise DoseError(
            f"{words} is less than a tenth of the usual least, {_words(least, given)}; check the figures and unit"
        )
    if given.value > most:
        return (f"{words[0].upper()}{words[1:]} is above the usual most, {_words(most, given)}: check it again.",)
    if given.value < least:
        return (f"{words[0].upper()}{words[1:]} is below the usual least, {_words(least, given)}: check it again.",)
    return ()


def _words(limit: Fraction, like: Quantity) -> str:
    return Quantity(limit, like.unit).words()


def range_of(least: Quantity, most: Quantity, unit: Unit) -> Range:
    """A usual range given as two quantities, in `unit`. Raises DoseError where it runs backwards or does not fit."""
    words = f"the usual range {least.words()} to {most.words()}"
    if not least.unit.dimensions == most.unit.dimensions == unit.dimensions:
        raise DoseError(f"{words} is not one of {unit}; accepted: both ends in a unit of the same kind")
    low, high = least.to(unit).value, most.to(unit).value
    if high < low:
        raise DoseError(f"{words} runs backwards; accepted: the least first")
    return low, high

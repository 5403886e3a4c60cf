"""Our units as pint knows them, exact, so that pint can say whether a dimension or a figure is right."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pint

from companion.dose import Quantity
from companion.speech.units import Unit

REGISTRY: Any = pint.UnitRegistry(non_int_type=Fraction)
_POUND = REGISTRY.Quantity(Fraction(1), "pound").to("kilogram").magnitude
for definition in (
    "biological_unit = [activity]",
    "equivalent = [equivalents]",
    "falling_drop = [drops]",
    "share = [count]",
    "body_kilogram = [body_mass]",
    # a body's mass is a dimension of its own here, so that mg/kg is not a plain number; the figure is pint's
    f"body_pound = {Decimal(_POUND.numerator) / Decimal(_POUND.denominator)} * body_kilogram",
):
    REGISTRY.define(definition)

NAMES = {
    "mcg": "microgram",
    "mg": "milligram",
    "g": "gram",
    "mmol": "millimole",
    "mEq": "milliequivalent",
    "units": "biological_unit",
    "mL": "milliliter",
    "dL": "deciliter",
    "L": "liter",
    "min": "minute",
    "h": "hour",
    "day": "day",
    "drops": "falling_drop",
    "kg": "body_kilogram",
    "lb": "body_pound",
    "parts": "share",
}


def in_pint(given: Quantity) -> Any:
    """The same quantity as pint holds it."""
    first, *below = (REGISTRY.Quantity(Fraction(1), NAMES[name]) for name in given.unit.names)
    for each in below:
        first = first / each
    return given.value * first


def unit_in_pint(unit: Unit) -> Any:
    """One of a unit."""
    return in_pint(Quantity(Fraction(1), unit))

"""One unit into another: masses and volumes, pounds, and glucose between mg/dL and mmol/L."""

from fractions import Fraction
from typing import Final, Literal

from companion.dose.quantity import Quantity
from companion.dose.working import Derived
from companion.errors import DoseError
from companion.speech.units import Unit, parse_unit

Pounds = Literal["2.2", "exact"]
"""How pounds become kilograms: divided by 2.2, as nursing texts do, or times 0.45359237 exactly (1959)."""

KG: Final = Unit(("kg",))
_LB: Final = Unit(("lb",))
_MG_PER_DL: Final = Unit(("mg", "dL"))
_MMOL_PER_L: Final = Unit(("mmol", "L"))
GLUCOSE_MG_PER_DL: Final = Fraction("18.0156")
"""mg/dL of glucose in 1 mmol/L, from 180.156 g/mol."""


def pounds_rule(name: str) -> Pounds:
    """Raises DoseError for a name that is no rule."""
    if name == "2.2":
        return "2.2"
    if name == "exact":
        return "exact"
    raise DoseError(f"`{name}` is not a way to turn pounds into kilograms; accepted: 2.2, exact")


def in_kg(weight: Quantity, pounds: Pounds) -> Derived:
    """A body mass in kilograms, with a line of working where it was in pounds."""
    if weight.unit == KG:
        return Derived(weight, ())
    if pounds == "2.2":
        return Derived.told(Quantity(weight.value / Fraction("2.2"), KG), "pounds in kg", what=weight)
    return Derived.told(Quantity(weight.value * _LB.size, KG), "pounds in kg exactly", what=weight)


def in_unit(given: Quantity, unit: Unit) -> Derived:
    """The same in another unit of the same dimensions, with a line of working where it changes."""
    if given.unit == unit:
        return Derived(given, ())
    return Derived.told(given.to(unit), "same in", what=given)


def glucose_in(given: Quantity, unit: Unit) -> Quantity:
    """A glucose reading in mg/dL or mmol/L, exact. Raises DoseError for any other unit on either side."""
    for each in (given.unit, unit):
        if each not in (_MG_PER_DL, _MMOL_PER_L):
            raise DoseError(f"`{each}` is not a unit of blood glucose; accepted: mg/dL, mmol/L")
    if given.unit == unit:
        return given
    factor = GLUCOSE_MG_PER_DL if unit == _MG_PER_DL else 1 / GLUCOSE_MG_PER_DL
    return Quantity(given.value * factor, unit)


def convert(given: Quantity, to: str, pounds: Pounds = "2.2") -> Derived:
    """`given` in the unit `to`: within a dimension, pounds by the rule, glucose by its molar mass. Raises DoseError."""
    unit = parse_unit(to, "the unit to convert to")
    pair = {given.unit, unit}
    if pair == {_MG_PER_DL, _MMOL_PER_L}:
        return Derived.told(glucose_in(given, unit), f"glucose in {unit}", what=given)
    if pair == {KG, _LB} and pounds == "2.2":
        if unit == KG:
            return in_kg(given, pounds)
        return Derived.told(Quantity(given.value * Fraction("2.2"), unit), "kg in pounds", what=given)
    return in_unit(given, unit)

"""Whether a syringe can measure a dose, and the mark to draw to."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from companion.dose.devices import Syringe, nearest_marks, percent, tolerance_ml
from companion.dose.quantity import Quantity
from companion.speech.numbers import decimal_of, half_up, shown, written
from companion.speech.units import Unit

LARGEST_SHARE: Final = Decimal("0.2")
"""An ordinary syringe that may be out by more than this share of the volume is too large for it (common practice).
By ISO 7886-1 that is a volume under a twelfth of the capacity."""

WORTH_SAYING: Final = Decimal("0.1")
"""A share from which the allowed error is a caution."""

FEWEST_INTERVALS: Final = 2
"""An insulin dose of fewer scale intervals than this is too small for the syringe (common practice)."""


@dataclass(frozen=True)
class Measured:
    """`marks` is the mark to draw to, in the unit `scale`; None where `faults` say why it cannot be measured."""

    marks: Decimal | None
    scale: str
    faults: tuple[str, ...]
    cautions: tuple[str, ...]

    def written(self) -> str:
        """`14 units`, `0.14 mL`. Raises ValueError where the dose cannot be measured."""
        if self.marks is None:
            raise ValueError("there is no mark to draw to")
        number = written(self.marks)
        return f"{number} {Unit((self.scale,)).after(number)}"


def measure(volume_ml: Fraction, device: Syringe, strength: Quantity | None = None) -> Measured:
    """Draw `volume_ml` of a liquid of `strength` into `device`. Nothing is rounded to a mark.

    An ordinary syringe is given the volume already rounded by the rule, an insulin syringe the exact one.
    """
    if device.marked_for is None:
        return _ordinary(volume_ml, device, strength)
    return _insulin(volume_ml, device, device.marked_for, strength)


def _ordinary(volume: Fraction, device: Syringe, strength: Quantity | None) -> Measured:
    cautions: tuple[str, ...] = ()
    if strength is not None and strength.unit.dimensions == ("units", "volume"):
        cautions = ("If this is insulin, use an insulin syringe or a pen, never an ordinary syringe.",)
    faults = _off_scale(volume, device)
    out = tolerance_ml(device.capacity_ml, decimal_of(volume))
    share = Fraction(out) / volume
    allowed = f"a {device.name()} may be out by {percent(out, decimal_of(volume))} % of {shown(volume)} mL"
    if share > Fraction(LARGEST_SHARE):
        faults += (f"Too small: {allowed} (ISO 7886-1); take a smaller syringe or a weaker strength.",)
    elif share > Fraction(WORTH_SAYING):
        cautions += (f"{allowed[0].upper()}{allowed[1:]} (ISO 7886-1); a smaller syringe measures it better.",)
    return Measured(None if faults else decimal_of(volume), "mL", faults, cautions)


def _insulin(volume: Fraction, device: Syringe, marked_for: int, strength: Quantity | None) -> Measured:
    if strength is None or strength.unit.dimensions != ("units", "volume"):
        return Measured(None, "units", (f"A {device.name()} is for insulin in units only.",), ())
    per_ml = strength.base
    dose = volume * per_ml
    if per_ml != marked_for:
        return Measured(None, "units", (_mismatch(dose, per_ml, device, marked_for),), ())
    faults = _off_scale(dose, device)
    if not faults and dose < FEWEST_INTERVALS * Fraction(device.interval):
        faults = (
            f"Too small: {_units(dose)} is fewer than {FEWEST_INTERVALS} of the marks of a {device.name()}, "
            f"{device.marks_words()}; take one with finer marks.",
        )
    cautions: tuple[str, ...] = ()
    if device.assumed:
        cautions = (f"Taken as {device.marks_words()}; look at the scale, and say so where it is finer.",)
    return Measured(None if faults else decimal_of(dose), "units", faults, cautions)


def _off_scale(figure: Fraction, device: Syringe) -> tuple[str, ...]:
    amount = _amount(figure, device.scale)
    if figure > Fraction(device.full):
        full = _amount(Fraction(device.full), device.scale)
        return (f"Over capacity: a {device.name()} holds {full}, and the dose is {amount}.",)
    below, above = nearest_marks(figure, device.interval)
    if below == above:
        return ()
    nearest = f"{_amount(Fraction(below), device.scale)} and {_amount(Fraction(above), device.scale)}"
    if not below:
        nearest = f"0 and {_amount(Fraction(above), device.scale)}"
    return (
        f"Between marks: a {device.name()} is {device.marks_words()}, and {amount} lies between {nearest}; "
        f"take a syringe with finer marks or ask the prescriber.",
    )


def _mismatch(dose: Fraction, per_ml: Fraction, device: Syringe, marked_for: int) -> str:
    label = written(decimal_of(per_ml))
    given, times = dose * per_ml / marked_for, per_ml / marked_for
    return (
        f"Stop: the insulin has {label} units per mL and the {device.name()} is marked for {marked_for} units per mL. "
        f"Drawn to the mark {shown(dose)} it would give {_units(given)}, {_times(times)} the dose. "
        f"Use a syringe marked for this insulin."
    )


def _times(times: Fraction) -> str:
    return f"{written(half_up(times, 2))} times"


def _units(figure: Fraction) -> str:
    return _amount(figure, "units")


def _amount(figure: Fraction, scale: str) -> str:
    number = shown(figure)
    return f"{number} {Unit((scale,)).after(number)}"

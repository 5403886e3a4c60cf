"""The formulas of dose arithmetic. Each takes quantities whose shapes were checked and gives an exact result.

volume = dose / strength; mL/h = volume / hours; drops/min = mL x drop factor / minutes
(US Army, Pharmacology Math for the Practical Nurse, MD0904).
"""

from fractions import Fraction
from typing import Final

from companion.dose.conversions import Pounds, in_kg, in_unit
from companion.dose.quantity import Quantity
from companion.dose.working import Derived
from companion.errors import DoseError
from companion.speech.units import Unit

ML: Final = Unit(("mL",))
ML_PER_H: Final = Unit(("mL", "h"))
DROPS_PER_MIN: Final = Unit(("drops", "min"))
DROPS_PER_ML: Final = Unit(("drops", "mL"))


def volume(required: Quantity, strength: Quantity) -> Derived:
    """mL of a liquid that hold a dose."""
    same = _same_medicine(required, strength)
    result = Quantity(same.exact.value / _per_ml(strength), ML)
    return same.then(Derived.told(result, "divided by", what=same.exact, by=strength))


def marks(required: Quantity, strength: Quantity, marked_for: Quantity) -> Derived:
    """Units on the scale of an insulin syringe. Raises DoseError where it is marked for another strength."""
    same = _same_medicine(required, strength)
    in_units = marked_for.unit.dimensions == strength.unit.dimensions == ("units", "volume")
    if not in_units or marked_for.base != strength.base:
        raise DoseError(
            f"the strength is {strength.words()} and the syringe is marked for {marked_for.words()}; "
            f"accepted: an insulin syringe marked for the strength on the label"
        )
    return same.then(Derived.told(same.exact, "the mark", strength=marked_for))


def dialed(required: Quantity, strength: Quantity) -> Derived:
    """Units set on the dial of a pen. Raises DoseError for a medicine that is not counted in units."""
    same = _same_medicine(required, strength)
    if strength.unit.dimensions != ("units", "volume"):
        raise DoseError(f"a pen counts units, and the strength is {strength.words()}; accepted: units per mL")
    return same.then(Derived.told(same.exact, "on the dial", strength=strength))


def dose_by_weight(per_weight: Quantity, weight: Quantity, pounds: Pounds) -> Derived:
    """A dose per body mass (and perhaps per time), times the body mass."""
    kilograms = in_kg(weight, pounds)
    amount, _kg, *time = per_weight.unit.names
    value = per_weight.value * Unit((amount,)).size / _below(per_weight.unit, 1) * kilograms.exact.base
    result = Quantity(value / Unit((amount,)).size, Unit((amount, *time)))
    return kilograms.then(Derived.told(result, "for a weight", what=per_weight, weight=kilograms.exact))


def part_of_day(daily: Quantity, parts: Quantity) -> Derived:
    """One of equal parts of a day's dose."""
    if daily.unit.names[1:] not in ((), ("day",)):
        raise DoseError(f"{daily.words()} is not a day's dose; accepted: an amount, or an amount per day")
    result = Quantity(daily.value / parts.value, Unit(daily.unit.names[:1]))
    return Derived.told(result, "in parts", what=daily, parts=parts)


def rate(infused: Quantity, time: Quantity) -> Derived:
    """mL/h of a volume over a time."""
    millilitres, hours = in_unit(infused, ML), in_unit(time, Unit(("h",)))
    result = Quantity(millilitres.exact.value / hours.exact.value, ML_PER_H)
    return millilitres.then(hours).then(Derived.told(result, "divided by", what=millilitres.exact, by=hours.exact))


def drops(infused: Quantity, time: Quantity, drop_factor: Quantity) -> Derived:
    """Drops a minute of a volume over a time."""
    millilitres, minutes = in_unit(infused, ML), in_unit(time, Unit(("min",)))
    factor = in_unit(drop_factor, DROPS_PER_ML)
    result = Quantity(millilitres.exact.value * factor.exact.value / minutes.exact.value, DROPS_PER_MIN)
    terms = {"what": millilitres.exact, "factor": factor.exact, "time": minutes.exact}
    return millilitres.then(minutes).then(factor).then(Derived.told(result, "drops over a time", **terms))


def drops_at_rate(flow: Quantity, drop_factor: Quantity) -> Derived:
    """Drops a minute of a flow."""
    per_hour, factor = in_unit(flow, ML_PER_H), in_unit(drop_factor, DROPS_PER_ML)
    result = Quantity(per_hour.exact.value * factor.exact.value / 60, DROPS_PER_MIN)
    return per_hour.then(factor).then(Derived.told(result, "drops of a flow", what=per_hour.exact, factor=factor.exact))


def rate_of_drops(counted: Quantity, drop_factor: Quantity) -> Derived:
    """mL/h that drops counted in a chamber amount to."""
    per_minute, factor = in_unit(counted, DROPS_PER_MIN), in_unit(drop_factor, DROPS_PER_ML)
    result = Quantity(per_minute.exact.value * 60 / factor.exact.value, ML_PER_H)
    return per_minute.then(factor).then(
        Derived.told(result, "flow of drops", what=per_minute.exact, factor=factor.exact)
    )


def rate_for_dose(per_time: Quantity, strength: Quantity) -> Derived:
    """mL/h that give an amount of medicine per time."""
    amount = Unit((per_time.unit.names[0],))
    hourly = in_unit(per_time, Unit((*amount.names, "h")))
    same = _same_medicine(Quantity(hourly.exact.value, amount), strength)
    result = Quantity(same.exact.value / _per_ml(strength), ML_PER_H)
    return hourly.then(same).then(Derived.told(result, "flow for a dose", what=same.exact, by=strength))


def hourly_by_weight(per_weight: Quantity, weight: Quantity, pounds: Pounds) -> Derived:
    """mg/h (or units/h ...) of a dose per body mass per time; micrograms come out in mg."""
    dose = dose_by_weight(per_weight, weight, pounds)
    amount = "mg" if dose.exact.unit.names[0] == "mcg" else dose.exact.unit.names[0]
    return dose.then(in_unit(dose.exact, Unit((amount, "h"))))


def time_left(remaining: Quantity, flow: Quantity) -> Derived:
    """Minutes that a volume lasts at a flow."""
    millilitres, per_hour = in_unit(remaining, ML), in_unit(flow, ML_PER_H)
    result = Quantity(millilitres.exact.value / per_hour.exact.value * 60, Unit(("min",)))
    return millilitres.then(per_hour).then(Derived.told(result, "lasts", what=millilitres.exact, by=per_hour.exact))


def _below(unit: Unit, place: int) -> Fraction:
    return Unit((unit.names[place],)).size


def _per_ml(strength: Quantity) -> Fraction:
    """How much of the strength's own amount is in 1 mL."""
    return strength.value / _below(strength.unit, 1)


def _same_medicine(amount: Quantity, strength: Quantity) -> Derived:
    """The amount in the strength's own unit. Raises DoseError where the two measure different things."""
    unit = Unit((strength.unit.names[0],))
    if amount.unit.dimensions != unit.dimensions:
        raise DoseError(
            f"the dose is in {amount.unit} and the strength in {strength.unit}, and one cannot be turned into the "
            f"other; accepted: a dose and a strength in units of the same kind"
        )
    return in_unit(amount, unit)

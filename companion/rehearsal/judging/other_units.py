"""A figure in free speech that is meant in another unit than the file's, such as a glucose in mmol/L."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from companion.dose.conversions import convert
from companion.dose.quantity import quantity
from companion.errors import DoseError
from companion.meaning.words import words
from companion.procedure.model import Procedure
from companion.rehearsal.judging.spoken import numbers_in
from companion.speech.numbers import half_up
from companion.speech.units import unit_name
from companion.speech.values import NumberValue


@dataclass(frozen=True)
class Other:
    """A unit that a setting of the procedure allows in place of the file's."""

    unit: str
    setting: str
    """Id of the setting."""


def others(procedure: Procedure, spec: NumberValue) -> tuple[Other, ...]:
    """The other units that a value may be in where policy says so."""
    return tuple(
        Other(choice, setting.id)
        for setting in procedure.settings
        if setting.value == spec.unit
        for choice in setting.choices
        if choice != spec.unit
    )


def in_file_unit(spec: NumberValue, value: str, unit: str) -> str | None:
    """A figure said in `unit`, as a plain decimal in the file's, to the places of its steps; None where it has none."""
    places = max(0, -int(spec.by.normalize().as_tuple().exponent))
    try:
        return format(half_up(convert(quantity(Decimal(value), unit), spec.unit).exact.value, places), "f")
    except DoseError:
        return None


def said_with(units: tuple[Other, ...], text: str) -> Other | None:
    """The one of `units` that stands after the last number."""
    said = words(text)
    after = [end for _, end in numbers_in(text)][-1:]
    return next(
        (unit for end in after for unit in units if said[end : end + 1] and said[end].text in _heads(unit)), None
    )


def _heads(other: Other) -> Iterator[str]:
    """What may begin the unit in speech or writing: `mmol`, `mmols`, `millimole`, `millimoles`."""
    written, spoken = other.unit.split("/")[0].lower(), unit_name(other.unit).one.split()[0]
    for each in (written, spoken):
        yield from (each, f"{each}s")


def fits(spec: NumberValue, value: str, units: tuple[Other, ...], due: str | None) -> Other | None:
    """The unit in which a figure is what is due, or plausible where nothing is known to be due."""
    for other in units:
        meant = in_file_unit(spec, value, other.unit)
        if meant is None:
            continue
        if Decimal(meant) == Decimal(due) if due is not None else spec.least <= Decimal(meant) <= spec.most:
            return other
    return None

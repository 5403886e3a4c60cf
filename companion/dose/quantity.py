"""A number with its unit, read from text as strictly as a prescription should be written."""

import re
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from companion.errors import DoseError, Miswritten
from companion.speech.numbers import decimal_of, shown, written
from companion.speech.units import DOSED, Unit, parse_unit
from companion.speech.writing import read


@dataclass(frozen=True)
class Quantity:
    """`value` of `unit`, exact. `as_written` is how it was put, for the working; empty for a derived one."""

    value: Fraction
    unit: Unit
    as_written: str = ""
    cautions: tuple[str, ...] = field(default=(), compare=False)
    """What its writing is to be told for."""

    @classmethod
    def of(cls, value: Decimal, unit: Unit) -> "Quantity":
        """A decimal figure of a unit."""
        return cls(Fraction(value), unit)

    @property
    def base(self) -> Fraction:
        """The value in base units: mg, mmol, mEq, units, mL, hours, drops, kg, parts and their quotients."""
        return self.value * self.unit.size

    def words(self) -> str:
        """For a working: `14 units`, `25,000 units in 500 mL`, `about 41.67 drops per minute`."""
        if self.as_written:
            return self.as_written
        number = shown(self.value)
        return f"{number} {self.unit.after(number)}"

    def to(self, unit: Unit) -> "Quantity":
        """The same in another unit of the same dimensions. Raises DoseError for other dimensions."""
        if unit.dimensions != self.unit.dimensions:
            raise DoseError(f"{self.words()} cannot be given in {unit}: one is not a measure of the other")
        return Quantity(self.base / unit.size, unit)

    def __str__(self) -> str:
        return f"{written(decimal_of(self.value))} {self.unit}"


def quantity(value: Decimal | int, unit: str) -> Quantity:
    """A quantity from a number already known to be one. Raises DoseError for a bad unit or a number not above 0."""
    if not Decimal(value).is_finite() or value <= 0:
        raise DoseError(f"`{value} {unit}` is not above zero")
    return Quantity(Fraction(value), parse_unit(unit))


def parse_quantity(
    text: str, what: str = "the quantity", *, laboratory: bool = False, example: str = "14 units"
) -> Quantity:
    """`14 units`, `1,500 mL`, `2.5 mg/kg`, `150 mL/h`, `160 mg/5 mL`, `25,000 units in 500 mL`, `U-100`.

    `what` names the culprit in the one sentence of the DoseError raised for anything else, `example` what would do.
    """
    text = " ".join(text.split())
    try:
        if re.search(r"[0-9] ?%", text):
            raise Miswritten(
                f"`{text[:60]}` is a percentage, which hides the strength: 1 % is 10 mg/mL; write it in mg/mL"
            )
        given = read(text, laboratory=laboratory, example=example)
        if given.value <= 0:
            nothing = "negative" if given.value else "zero"
            raise Miswritten(f"`{text}` is {nothing}", "more than zero")
        if strange := given.unit.undosed:
            raise Miswritten(f"no dose is worked out in `{strange}`", ", ".join(DOSED))
    except Miswritten as fault:
        raise DoseError(fault.about(text, what)) from None
    return Quantity(given.value, given.unit, given.words, given.cautions)


def parse_strength(text: str, what: str = "the strength") -> Quantity:
    """An amount of medicine per volume. Raises DoseError for anything else."""
    found = parse_quantity(text, what, example="100 units/mL")
    if found.unit.shape != "drug/volume":
        raise DoseError(
            f"{what} `{text}` is not an amount of medicine per volume; accepted: such as "
            "`100 units/mL` or `160 mg/5 mL`"
        )
    return found


def parse_count(text: str, what: str = "the number of parts") -> Quantity:
    """A whole number of parts or doses: `4`, `4 doses`. Raises DoseError."""
    found = re.fullmatch(r"([1-9][0-9]?)( (doses|parts|dose|part))?", text.strip())
    if not found:
        raise DoseError(f"{what} `{text}` is not a whole number of doses; accepted: 1 to 99, such as `4`")
    return Quantity(Fraction(int(found[1])), Unit(("parts",)), found[1])

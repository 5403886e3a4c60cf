"""A number with its unit, read from text as strictly as a prescription should be written."""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from companion.dose.exact import decimal_of, shown, written
from companion.dose.units import Unit, is_unit, parse_unit, unit_name
from companion.errors import DoseError

_START: Final = re.compile(r"([0-9.,]+)(\s*)(.*)", re.DOTALL)
_PLAIN: Final = re.compile(r"[0-9]+(\.[0-9]+)?")
_GROUPED: Final = re.compile(r"[1-9][0-9]{0,2}(,[0-9]{3})+(\.[0-9]+)?")
_COMMA: Final = re.compile(r"(0|[1-9][0-9]*),[0-9]*[1-9]")
_SPACED: Final = re.compile(r"([1-9][0-9]{0,2}(?: [0-9]{3})+(?:\.[0-9]+)?)(?![0-9.,])(.*)")
_POWER: Final = re.compile(r"[0-9.,]+ ?([eE][-+]?[0-9]|[x×*^])")
_DESIGNATION: Final = re.compile(r"U-?(40|100|200|300|500)")
_SEPARATOR: Final = re.compile(r"\s*/\s*|\s+per\s+|\s+in\s+")
_LONGEST: Final = 60


@dataclass(frozen=True)
class Quantity:
    """`value` of `unit`, exact. `as_written` is how it was put, for the working; empty for a derived one."""

    value: Fraction
    unit: Unit
    as_written: str = ""

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


def parse_number(text: str, culprit: str, unit: str = "", *, laboratory: bool = False) -> Fraction:
    """A number above zero, as it should be written. Raises DoseError.

    A leading zero always, a trailing zero never (Joint Commission "Do Not Use" list, which excepts `laboratory`
    results); commas from five figures on (ISMP list, 2021), and where they stand they stand every three figures.
    `unit` is only for the sentence that says what to write.
    """
    tail = f" {unit}" if unit else ""
    if text.startswith("."):
        raise DoseError(f"{culprit} has a bare decimal point, which is easily missed; write `0{text}{tail}`")
    if "," in text and not _GROUPED.fullmatch(text):
        meant = f"; if a decimal is meant, write `{text.replace(',', '.')}{tail}`" if _COMMA.fullmatch(text) else ""
        raise DoseError(
            f"{culprit} has a comma out of place; commas part thousands (10,000), a point parts decimals{meant}"
        )
    if "," not in text and not _PLAIN.fullmatch(text):
        raise DoseError(f"{culprit} has `{text}` for a number; accepted: figures with at most one point, such as `2.5`")
    plain = Decimal(text.replace(",", ""))
    if not plain:
        raise DoseError(f"{culprit} is zero; accepted: more than zero")
    if "." in text and text.endswith("0") and not laboratory:
        raise DoseError(
            f"{culprit} has a zero at the end, which is misread as ten times as much; write `{written(plain)}{tail}`"
        )
    whole = text.split(".", maxsplit=1)[0]
    if len(whole) > 1 and whole.startswith("0"):
        raise DoseError(f"{culprit} starts with a zero too many; write `{written(plain)}{tail}`")
    if "," not in whole and len(whole) > 4:
        raise DoseError(
            f"{culprit} has {len(whole)} figures without commas, easily miscounted; write `{written(plain)}{tail}`"
        )
    return Fraction(plain)


def _number_and_unit(text: str, culprit: str, laboratory: bool, example: str) -> tuple[Fraction, str]:
    accepted = f"accepted: a number, a space and a unit, such as `{example}`"
    found = _START.fullmatch(text)
    if not found:
        raise DoseError(f"{culprit} does not begin with a number in figures; {accepted}")
    if spaced := _SPACED.fullmatch(text):
        raise DoseError(f"{culprit} has a space inside the number; write `{spaced[1].replace(' ', ',')}{spaced[2]}`")
    if _POWER.match(text):
        raise DoseError(f"{culprit} has a power or a product for a number; write it out, such as `{example}`")
    number, gap, name = found.groups()
    value = parse_number(number, culprit, name, laboratory=laboratory)
    if not name:
        raise DoseError(f"{culprit} has no unit; {accepted}")
    unit, _, more = name.partition(" ")
    if more and is_unit(unit):
        raise DoseError(f"{culprit} goes on after its unit with `{more}`; {accepted}")
    name = unit_name(name, culprit)
    if not gap:
        raise DoseError(f"{culprit} has no space before the unit; write `{number} {name}`")
    return value, name


def parse_quantity(
    text: str, what: str = "the quantity", *, laboratory: bool = False, example: str = "14 units"
) -> Quantity:
    """`14 units`, `1,500 mL`, `2.5 mg/kg`, `150 mL/h`, `160 mg/5 mL`, `25,000 units in 500 mL`, `U-100`.

    `what` names the culprit in the one sentence of the DoseError raised for anything else, `example` what would do.
    """
    text = " ".join(text.split())
    culprit = f"{what} `{text[:_LONGEST]}`"
    if not text:
        raise DoseError(f"{what} is empty; accepted: a number, a space and a unit, such as `{example}`")
    if len(text) > _LONGEST:
        raise DoseError(f"{culprit}... is too long to be a quantity; accepted: such as `14 units` or `160 mg/5 mL`")
    if text[0] in "-−–":
        raise DoseError(f"{culprit} is negative; accepted: more than zero")
    if found := _DESIGNATION.fullmatch(text):
        return Quantity(Fraction(int(found[1])), Unit(("units", "mL")), f"{found[1]} units per mL")
    if re.match(r"[0-9]+/[0-9]+ ", text):
        raise DoseError(f"{culprit} is a fraction; write it with a decimal point, such as `0.5 mL`")
    if re.match(r"[0-9.,]+ ?: ?[0-9]", text):
        raise DoseError(f"{culprit} is a ratio; write the strength as an amount per volume, such as `1 mg/mL`")
    head, *rest = _SEPARATOR.split(text)
    value, name = _number_and_unit(head, culprit, laboratory, example)
    names, words = [name], [f"{_grouped(head)} {Unit((name,)).after(_grouped(head))}"]
    for part in rest:
        below = part
        if part[:1].isdigit() or part[:1] == ".":
            divisor, below = _number_and_unit(part, culprit, laboratory, example)
            value /= divisor
            words.append(f" in {_grouped(part)} {below}")
        else:
            below = unit_name(part, culprit)
            words.append(" per " + Unit((below,)).after("1"))
        names.append(below)
    if len(names) > 3:
        raise DoseError(f"{culprit} has too many parts; accepted: at most two `per`, such as `10 mcg/kg/min`")
    return Quantity(value, Unit(tuple(names)), "".join(words))


def _grouped(text: str) -> str:
    found = _START.fullmatch(text)
    return written(Decimal(found[1].replace(",", ""))) if found else text


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

"""Syringes: what they hold, where their marks are, and what insulin they are marked for."""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from companion.dose.quantity import parse_quantity
from companion.errors import DoseError
from companion.speech.numbers import decimal_of, half_up, written
from companion.speech.units import Unit

INSULIN_MARKS: Final = {
    (40, "0.5"): ("0.5", "1"),
    (40, "1"): ("1",),
    (40, "2"): ("1", "2"),
    (100, "0.3"): ("0.5", "1"),
    (100, "0.5"): ("1",),
    (100, "1"): ("1", "2"),
}
"""Scale intervals in units by (units/mL marked for, capacity in mL): ISO 8537:2007, table 1."""

ORDINARY_MARKS: Final = {
    "1": "0.01",
    "2": "0.1",
    "3": "0.1",
    "5": "0.2",
    "10": "0.2",
    "20": "1",
    "50": "1",
    "60": "1",
}
"""Scale interval in mL by capacity in mL. 1, 3, 5, 10: RMIT; the others common practice."""

_TEXT: Final = re.compile(
    r"(?P<capacity>[0-9.,]+ ?[a-zA-Z]+) (?:(?P<marked>U-?[0-9]+) )?(?P<insulin>insulin )?syringe"
    r"(?:,? (?:marked )?(?:with marks )?every (?P<interval>[0-9.,]+ ?[a-zA-Z]+))?"
)
_SIZE: Final = re.compile(r"([0-9.]+) ?mL\b", re.IGNORECASE)
_MARKED: Final = re.compile(r"\bU-?([0-9]+)\b")
_ACCEPTED: Final = (
    "accepted: such as `1 mL syringe`, `5 mL syringe marked every 0.5 mL`, `0.5 mL U-100 insulin syringe` or "
    "`0.3 mL U-100 insulin syringe marked every 0.5 units`"
)


@dataclass(frozen=True)
class Syringe:
    """`interval` is in mL, or in units where `marked_for` (units/mL) says that it is an insulin syringe."""

    capacity_ml: Decimal
    interval: Decimal
    marked_for: int | None = None
    assumed: bool = False
    """True where the standard allows several intervals, none was stated, and the widest is taken."""

    @property
    def scale(self) -> str:
        """The unit of the scale: `units` or `mL`."""
        return "mL" if self.marked_for is None else "units"

    @property
    def full(self) -> Decimal:
        """The last mark, in the unit of the scale."""
        return decimal_of(Fraction(self.capacity_ml) * (self.marked_for or 1))

    def name(self) -> str:
        """`1 mL syringe`, `0.5 mL U-100 insulin syringe`."""
        kind = "" if self.marked_for is None else f"U-{self.marked_for} insulin "
        return f"{written(self.capacity_ml)} mL {kind}syringe"

    def marks_words(self) -> str:
        """`marked every 0.01 mL`."""
        number = written(self.interval)
        return f"marked every {number} {Unit((self.scale,)).after(number)}"


def tolerance_ml(capacity: Decimal, expelled: Decimal) -> Decimal:
    """How far out an ordinary syringe may be, in mL, either way.

    ISO 7886-1 for a 1 mL syringe: 1.5 % of capacity and 2 % of what is expelled below half capacity, 5 % of what is
    expelled from half on (SMTL, 2016). Taken for the larger sizes too, whose limits are no wider (from memory, verify).
    """
    out = Fraction(expelled) * Fraction(5, 100)
    if 2 * expelled < capacity:
        out = Fraction(capacity) * Fraction(15, 1000) + Fraction(expelled) * Fraction(2, 100)
    return decimal_of(out)


def parse_device(text: str, what: str = "the device") -> Syringe:
    """A syringe as named on its wrapper. Raises DoseError for a size or interval that no table has."""
    text = " ".join(text.split())
    culprit = f"{what} `{text[:80]}`"
    found = _TEXT.fullmatch(text)
    if not found:
        raise DoseError(f"{culprit} {_what_is_wrong(text)}; {_ACCEPTED}")
    capacity = parse_quantity(found["capacity"], what)
    if capacity.unit != Unit(("mL",)):
        raise DoseError(f"{culprit} has its capacity in {capacity.unit}; accepted: mL, {_ACCEPTED[10:]}")
    size = written(decimal_of(capacity.value))
    interval = found["interval"]
    if found["insulin"] and not found["marked"]:
        raise DoseError(
            f"{culprit} does not say which insulin it is marked for; write `{size} mL U-100 insulin syringe`"
        )
    if found["marked"]:
        return _insulin(culprit, int(found["marked"].lstrip("U-")), size, interval)
    return _ordinary(culprit, size, interval)


def _what_is_wrong(text: str) -> str:
    """With a text that is no device: what is missing, where that can be told."""
    if "pen" in text.lower().split():
        return "measures for itself: the units ordered are dialed on it, and nothing is drawn up from it"
    if not text:
        return "is empty"
    size, marked = _SIZE.search(text), _MARKED.search(text)
    if "syringe" in text and size is None:
        return "does not say how much it holds"
    if size is not None and marked is not None:
        return f"is not written as I know it; write `{size[1]} mL U-{marked[1]} insulin syringe`"
    return "is not one I know"


def _ordinary(culprit: str, size: str, interval: str | None) -> Syringe:
    if interval is not None:
        step = _interval(culprit, interval, "mL")
        if step * 4 > Decimal(size) or Fraction(size) % Fraction(step):
            raise DoseError(f"{culprit} cannot be: {size} mL is not a run of at least four marks of {written(step)} mL")
        return Syringe(Decimal(size), step)
    if size not in ORDINARY_MARKS:
        raise DoseError(
            f"{culprit} is of no usual size; accepted: {', '.join(ORDINARY_MARKS)} mL, or any with its marks, "
            f"such as `{size} mL syringe marked every 0.5 mL`"
        )
    return Syringe(Decimal(size), Decimal(ORDINARY_MARKS[size]))


def _insulin(culprit: str, marked_for: int, size: str, interval: str | None) -> Syringe:
    allowed = INSULIN_MARKS.get((marked_for, size))
    if allowed is None:
        known = ", ".join(f"{capacity} mL U-{strength}" for strength, capacity in INSULIN_MARKS)
        raise DoseError(f"{culprit} is no insulin syringe of ISO 8537; accepted: {known}")
    if interval is None:
        return Syringe(Decimal(size), Decimal(allowed[-1]), marked_for, assumed=len(allowed) > 1)
    step = written(_interval(culprit, interval, "units"))
    if step not in allowed:
        raise DoseError(f"{culprit} is not marked so in ISO 8537; accepted: every {' or '.join(allowed)} units")
    return Syringe(Decimal(size), Decimal(step), marked_for)


def _interval(culprit: str, text: str, scale: str) -> Decimal:
    step = parse_quantity(text, f"the marks of {culprit}")
    if str(step.unit) != scale:
        raise DoseError(f"{culprit} has marks in {step.unit}; accepted: {scale}")
    return decimal_of(step.value)


def nearest_marks(exact: Fraction, interval: Decimal) -> tuple[Decimal, Decimal]:
    """The marks below and above a figure on the scale; the same one twice where it stands on a mark."""
    step = Fraction(interval)
    below = exact // step
    above = below if exact % step == 0 else below + 1
    return decimal_of(below * step), decimal_of(above * step)


def percent(part: Decimal, whole: Decimal) -> str:
    """`part` in hundredths of `whole`, whole, half up."""
    return written(half_up(Fraction(part) / Fraction(whole) * 100, 0))

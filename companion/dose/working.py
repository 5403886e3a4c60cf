"""A result with its working: what the program shows, says and compares a stated figure with."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from companion.dose.quantity import Quantity
from companion.dose.rounding import Rounding
from companion.errors import DoseError
from companion.speech.language import tell
from companion.speech.numbers import decimal_of, half_up, written

_WORTH_SAYING: Final = Fraction(5, 100)
"""A rounding that changes the result by more than this is a caution: as much as ISO 7886-1 lets a syringe be out."""


@dataclass(frozen=True)
class Derived:
    """A result before rounding, with the lines that led to it."""

    exact: Quantity
    lines: tuple[str, ...]
    cautions: tuple[str, ...] = ()

    @classmethod
    def told(cls, exact: Quantity, key: str, **terms: Quantity) -> "Derived":
        """A result with the sentence about how `terms` led to it."""
        words = {name: term.words() for name, term in terms.items()}
        return cls(exact, (tell("en", key, result=exact.words(), **words),))

    def then(self, following: "Derived") -> "Derived":
        """Both workings, one after the other, with the result of the second."""
        return Derived(following.exact, self.lines + following.lines, self.cautions + following.cautions)


@dataclass(frozen=True)
class Worked:
    """`rounded` is the result in `unit`, `exact` what it was before rounding; lines are whole plain sentences."""

    formula: str
    exact: Quantity
    rounded: Decimal
    unit: str
    rounding: str
    working: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def unrounded(self) -> Decimal:
        """The result before rounding, to 50 digits."""
        return decimal_of(self.exact.value)

    def written(self) -> str:
        """`0.14 mL`: a leading zero always, a trailing zero never, commas from 1,000."""
        return f"{written(self.rounded)} {self.unit}"

    def agrees(self, figure: Decimal) -> bool:
        """True where somebody's figure, in the same unit, is this result as rounded."""
        return figure == self.rounded


def finish(formula: str, derived: Derived, rounding: Rounding) -> Worked:
    """Round once. Raises DoseError where that would leave nothing."""
    exact = derived.exact
    value, rule = rounding.apply(exact.value, exact.unit)
    if not value:
        raise DoseError(
            f"the result, {exact.words()}, is nothing when rounded {rule}: the amount is too small for the strength"
        )
    lines, cautions = tuple(line[0].upper() + line[1:] for line in derived.lines), derived.cautions
    change = abs(Fraction(value) - exact.value)
    if change:
        number = written(value)
        lines += (tell("en", "rounded", rule=rule, result=f"{number} {exact.unit.after(number)}"),)
        if change / exact.value > _WORTH_SAYING:
            percent = written(half_up(change / exact.value * 100, 0))
            cautions += (tell("en", "rounding changes", rule=rule, percent=percent),)
    return Worked(formula, exact, value, str(exact.unit), rule, lines, cautions)

"""How a result is rounded: once, at the end, half up, to as many places as the rule says."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from companion.errors import DoseError
from companion.speech.numbers import half_up, worth_showing
from companion.speech.units import Unit

_PLACES: Final = {"whole": 0, "tenths": 1, "hundredths": 2, "thousandths": 3, "ten-thousandths": 4}
_WORDS: Final = ("to a whole number", "to tenths", "to hundredths", "to thousandths", "to ten-thousandths")


@dataclass(frozen=True)
class Rounding:
    """Decimal places by what the result is. Drops and parts are always whole: half a drop does not fall."""

    name: str
    volume_under_1: int
    volume_from_1: int
    rate: int
    dose: int

    def places(self, exact: Fraction, unit: Unit) -> int:
        """Places for `exact` of `unit`; which side of 1 mL it lies on is judged before rounding."""
        match unit.shape:
            case "drops/time" | "count" | "drops":
                return 0
            case "time" if str(unit) == "min":
                return 0
            case "volume":
                return self.volume_under_1 if exact * unit.size < 1 else self.volume_from_1
            case "volume/time" | "drug/time" | "body mass" | "time":
                return self.rate
            case "drug/volume" if str(unit) == "mmol/L":
                return self.rate
            case "drug/volume" if str(unit) == "mg/dL":
                return 0
        return self.dose

    def apply(self, exact: Fraction, unit: Unit) -> tuple[Decimal, str]:
        """The rounded figure and the rule in words, such as `to hundredths, half up`."""
        places = self.places(exact, unit)
        words = _WORDS[places] if places < len(_WORDS) else f"to {places} decimal places"
        return half_up(exact, places), f"{words}, half up"


USUAL: Final = Rounding("usual", volume_under_1=2, volume_from_1=1, rate=1, dose=2)
"""Under 1 mL to hundredths, from 1 mL to tenths, drops whole (nursing-school guides); rates and body mass to tenths,
doses to hundredths (common practice)."""

RULES: Final = ("usual", *_PLACES)
"""The names a setting may hold."""


def as_shown(exact: Fraction) -> Rounding:
    """To as many places as a working shows of `exact`: a change of unit loses nothing that has an end."""
    places = worth_showing(exact)
    return Rounding("as shown", places, places, places, places)


def rounding_rule(name: str) -> Rounding:
    """`usual`, or the same place for every result but drops. Raises DoseError for another name."""
    if name == "usual":
        return USUAL
    if name not in _PLACES:
        raise DoseError(f"`{name}` is not a rounding rule; accepted: {', '.join(RULES)}")
    places = _PLACES[name]
    return Rounding(name, places, places, places, places)


def rule_for_steps(by: Decimal) -> str:
    """The rule that rounds to figures in steps of `by`: `0.01` -> `hundredths`."""
    places = max(0, -int(by.normalize().as_tuple().exponent))
    return next((name for name, each in _PLACES.items() if each == places), "usual")

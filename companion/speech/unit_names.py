"""Units as they are written and as they are said. UCUM codes where the trade writes them, words in full otherwise."""

import re
from dataclasses import dataclass
from functools import lru_cache

from companion.errors import DoseError


@dataclass(frozen=True)
class UnitName:
    """A unit's two spoken forms: `milliliter` for one, `milliliters` for any other number."""

    one: str
    many: str

    @property
    def half(self) -> str:
        """`half a milliliter`, `half an hour`."""
        return f"half {'an' if self.one.startswith(('hour', 'ampoule')) else 'a'} {self.one}"


def _regular(*pairs: tuple[str, str]) -> dict[str, UnitName]:
    return {written: UnitName(one, one + "s") for written, one in pairs}


_BASE: dict[str, UnitName] = {
    **_regular(
        ("units", "unit"),
        ("mL", "milliliter"),
        ("L", "liter"),
        ("dL", "deciliter"),
        ("mcg", "microgram"),
        ("ng", "nanogram"),
        ("mg", "milligram"),
        ("g", "gram"),
        ("kg", "kilogram"),
        ("mmol", "millimole"),
        ("mol", "mole"),
        ("mEq", "milliequivalent"),
        ("mm", "millimeter"),
        ("cm", "centimeter"),
        ("m", "meter"),
        ("lb", "pound"),
        ("kcal", "kilocalorie"),
        ("kPa", "kilopascal"),
        ("s", "second"),
        ("min", "minute"),
        ("h", "hour"),
        ("days", "day"),
        ("weeks", "week"),
        ("months", "month"),
        ("years", "year"),
        ("drops", "drop"),
        ("breaths", "breath"),
        ("beats", "beat"),
        ("doses", "dose"),
        ("tablets", "tablet"),
        ("capsules", "capsule"),
        ("puffs", "puff"),
        ("ampoules", "ampoule"),
        ("vials", "vial"),
        ("parts", "part"),
        ("°", "degree"),
    ),
    "%": UnitName("percent", "percent"),
    "°C": UnitName("degree celsius", "degrees celsius"),
    "°F": UnitName("degree fahrenheit", "degrees fahrenheit"),
    "mmHg": UnitName("millimeter of mercury", "millimeters of mercury"),
    "cmH2O": UnitName("centimeter of water", "centimeters of water"),
    "G": UnitName("gauge", "gauge"),
}
_LOOSE = {name.lower(): unit for written, unit in _BASE.items() if written != "G" for name in (written, unit.one)} | {
    unit.many: unit for unit in _BASE.values()
}

WRITTEN_UNITS = tuple(sorted(_BASE, key=len, reverse=True))
"""The simple written units, longest first; a rate joins them by `/`, such as `mg/kg/h`."""


@lru_cache(maxsize=512)
def unit_name(unit: str) -> UnitName:
    """The spoken names of `mL`, `units/mL`, `milliliters` or `units per milliliter`. Raises DoseError if unknown."""
    parts = [part.strip() for part in re.split(r"/| per ", unit.strip())]
    found = [_BASE.get(part) or _LOOSE.get(part.lower()) for part in parts]
    if not all(found):
        raise DoseError(
            f"`{unit}` is not a unit that can be said; accepted: {', '.join(_BASE)}, and rates of them such as units/mL"
        )
    first, *rest = [name for name in found if name]
    tail = "".join(f" per {name.one}" for name in rest)
    return UnitName(first.one + tail, first.many + tail)

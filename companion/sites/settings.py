"""What local policy decides about the distance between places and their rest."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from companion.errors import UsageError
from companion.speech.values import plain_decimal

WEEK = 7
"""Days a quadrant or half is used before the next one takes its turn (Frid 2016)."""


@dataclass(frozen=True)
class SiteSettings:
    """Distances in mm, rest in days."""

    site_distance: int = 10
    """Least distance from the last injection: at least 1 cm (Frid 2016)."""
    navel_distance: int = 50
    """Least distance from the navel. Sources differ, from 1 to 5 cm."""
    rest_days: int = 28
    """A spot is used again after this many days at the earliest: four weeks (leaflets quoting Frid 2016)."""


_LIMITS: Mapping[str, tuple[int, int]] = {"site-distance": (1, 3), "navel-distance": (1, 5), "site-rest": (1, 90)}
_CM = ("site-distance", "navel-distance")


def site_settings(values: Mapping[str, str]) -> SiteSettings:
    """From a procedure's settings or typed ones: `site-distance` and `navel-distance` in cm, `site-rest` in days.

    Other names are left alone; a name that is missing keeps its default. Raises UsageError."""
    found = {name: _figure(name, values[name]) for name in _LIMITS if name in values}
    usual = SiteSettings()
    return SiteSettings(
        found.get("site-distance", usual.site_distance),
        found.get("navel-distance", usual.navel_distance),
        found.get("site-rest", usual.rest_days),
    )


def _figure(name: str, text: str) -> int:
    least, most = _LIMITS[name]
    unit, places = ("cm", "with one decimal place at most") if name in _CM else ("days", "in whole days")
    refusal = f"{name} is `{text}`; accepted: {least} to {most} {unit}, {places}"
    try:
        number = plain_decimal(text)
    except ValueError as fault:
        raise UsageError(refusal) from fault
    scaled = number * 10 if name in _CM else number
    if not least <= number <= most or scaled != int(scaled):
        raise UsageError(refusal)
    return int(Decimal(scaled))

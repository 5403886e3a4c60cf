"""A place on the body: a zone, a part of it, or one spot, and how it is written."""

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from companion.errors import UsageError
from companion.sites.zones import ZONES, Part, Zone, zone_named

_SPOT = re.compile(r"(upper|lower)(?:-([0-9]{1,2}(?:\.[1-9])?)-([0-9]{1,2}(?:\.[1-9])?))?", re.ASCII)


@dataclass(frozen=True)
class Spot:
    """`across` mm outward of the area's line, `along` mm from its landmark, in a part."""

    part: Part
    across: int
    along: int

    @property
    def code(self) -> str:
        """In cm: `upper-6-3.5`."""
        return f"{self.part.name}-{cm(self.across)}-{cm(self.along)}"


@dataclass(frozen=True)
class Place:
    """A whole zone, a part of it, or a spot. `spot` implies its part."""

    zone: Zone
    part: Part | None = None
    spot: Spot | None = None

    @property
    def code(self) -> str:
        """As typed and kept: `left-abdomen`, `left-abdomen/upper`, `left-abdomen/upper-6-3`."""
        inner = self.spot.code if self.spot else self.part.name if self.part else ""
        return f"{self.zone.code}/{inner}" if inner else self.zone.code

    @property
    def point(self) -> tuple[str, int, int] | None:
        """The plane a spot lies in, and x and y in mm there, x to the person's left, y upward; None for no spot."""
        if self.spot is None:
            return None
        area = self.zone.area
        x = self.spot.across if self.zone.side == "left" else -self.spot.across
        y = self.spot.along if self.spot.part.up else -self.spot.along
        return area.name if area.joined else self.zone.name, x, y

    def covers(self, other: "Place") -> bool:
        """Whether `other` lies wholly in this place."""
        if self.zone != other.zone:
            return False
        if self.spot is not None:
            return self.spot == other.spot
        return self.part is None or self.part == other.part

    def within(self, other: "Place", mm: int) -> bool:
        """Whether both are spots of one plane and nearer to each other than `mm`."""
        here, there = self.point, other.point
        if here is None or there is None or here[0] != there[0]:
            return False
        return (here[1] - there[1]) ** 2 + (here[2] - there[2]) ** 2 < mm * mm


def spot_at(zone: Zone, part: Part, across: int, along: int) -> Place:
    """The place of a spot, in mm."""
    return Place(zone, part, Spot(part, across, along))


@lru_cache(maxsize=4096)
def read_place(text: str) -> Place:
    """`left-abdomen/upper-6-3` (or with spaces) -> the place. Raises UsageError naming what is accepted."""
    zone_text, slash, inner = text.strip().partition("/")
    zone = zone_named(zone_text)
    if zone is None:
        names = ", ".join(each.code for each in ZONES)
        raise UsageError(f"`{text}`: `{zone_text.strip()}` is no place to inject; accepted: {names}")
    if not slash:
        return Place(zone)
    found = _SPOT.fullmatch("-".join(inner.lower().replace("-", " ").split()))
    part = zone.part(found[1]) if found else None
    if found is None or part is None:
        raise UsageError(
            f"`{text}`: `{inner.strip()}` is no {zone.area.share} or spot; accepted: upper, lower, or one with the cm "
            f"outward of {zone.area.line} and the cm from {zone.area.landmark}, such as {_example(zone)}"
        )
    if found[2] is None:
        return Place(zone, part)
    across, along = _mm(found[2]), _mm(found[3])
    if not (0 < across <= zone.area.width and part.least < along <= part.most):
        raise UsageError(
            f"`{text}`: outside the {part.name} {zone.area.share} of {zone.spoken}; accepted: more than 0 and at most "
            f"{cm(zone.area.width)} cm outward, then more than {cm(part.least)} and at most {cm(part.most)} cm"
        )
    return spot_at(zone, part, across, along)


def cm(mm: int) -> str:
    """35 -> `3.5`, 30 -> `3`: no trailing zero."""
    whole, tenths = divmod(mm, 10)
    return f"{whole}.{tenths}" if tenths else str(whole)


def _mm(text: str) -> int:
    return int(Decimal(text) * 10)


def _example(zone: Zone) -> str:
    part = zone.area.parts[0]
    return spot_at(zone, part, zone.area.width - 30, part.least + 20).code

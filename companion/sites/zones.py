"""Where under the skin insulin is given: areas of the body, their two sides, and the parts that take turns.

Areas: Frid et al., Mayo Clin Proc 2016;91(9):1231-55, in the words of the procedure. Quadrants of the abdomen and
halves of the other areas take turns, a week each, always clockwise (the same; FIT UK, 4th edition, 2016). How far an
area reaches on a grown body is our own cautious figure: whatever does not fit the person is passed over.
"""

from dataclasses import dataclass
from typing import Literal

from companion.speech.language import tell

Side = Literal["left", "right"]
View = Literal["front", "back"]


@dataclass(frozen=True)
class Part:
    """A quadrant or half of one side. `along` is counted in mm from the area's landmark, over `least` up to `most`."""

    name: Literal["upper", "lower"]
    least: int
    most: int
    up: bool
    """Whether `along` is counted upward on the body."""


@dataclass(frozen=True)
class Area:
    """A part of the body that comes left and right. Lengths in mm."""

    name: str
    share: Literal["quadrant", "half"]
    view: View
    width: int
    """How far outward it reaches."""
    parts: tuple[Part, Part]
    line: str
    """What `across` is counted from, outward."""
    landmark: str
    """What `along` is counted from."""
    where: str
    """How to find it, for a screen."""
    joined: bool = False
    """Whether left and right meet, so that a place on one side can be too near to one on the other."""


@dataclass(frozen=True)
class Zone:
    """One side of an area, as it is chosen aloud: `left abdomen`."""

    side: Side
    area: Area

    @property
    def name(self) -> str:
        return f"{self.side} {self.area.name}"

    @property
    def code(self) -> str:
        """As it is typed and kept: `left-upper-arm`."""
        return self.name.replace(" ", "-")

    @property
    def spoken(self) -> str:
        """In other words than the reply, which no prompt may contain: `the abdomen on the left`."""
        return tell("en", "zone", area=self.area.name, side=self.side)

    def part(self, name: str) -> Part | None:
        return next((part for part in self.area.parts if part.name == name), None)


ABDOMEN = Area(
    "abdomen",
    "quadrant",
    "front",
    90,
    (Part("upper", 0, 70, True), Part("lower", 0, 70, False)),
    "the navel",
    "the navel",
    "Around the navel, from below the ribs to above the pubic bone, outward to the flanks.",
    joined=True,
)
THIGH = Area(
    "thigh",
    "half",
    "front",
    60,
    (Part("upper", 0, 50, False), Part("lower", 50, 100, False)),
    "the middle of the front",
    "the top",
    "Front and outside of the upper thigh; the top is a hand's width below the groin.",
)
UPPER_ARM = Area(
    "upper arm",
    "half",
    "back",
    40,
    (Part("upper", 0, 40, False), Part("lower", 40, 80, False)),
    "the middle of the back of the arm",
    "the top",
    "Outer back of the arm, its middle third; the top is a hand's width below the tip of the shoulder.",
)
BUTTOCK = Area(
    "buttock",
    "half",
    "back",
    70,
    (Part("upper", 30, 60, True), Part("lower", 0, 30, True)),
    "the middle of the buttock",
    "the middle of the buttock",
    "The upper outer quarter of the buttock only.",
)

AREAS = (ABDOMEN, THIGH, UPPER_ARM, BUTTOCK)
ZONES = tuple(Zone(side, area) for area in AREAS for side in ("left", "right"))
"""In the order in which the procedure offers them."""


def zone_named(text: str) -> Zone | None:
    """`left abdomen` or `left-abdomen` -> the zone, as a choice names it; None for anything else."""
    wanted = " ".join(text.lower().replace("-", " ").split())
    return next((zone for zone in ZONES if zone.name == wanted), None)


def zones_of(area: Area) -> tuple[Zone, ...]:
    """Both sides."""
    return tuple(zone for zone in ZONES if zone.area is area)


def clockwise(zones: tuple[Zone, ...]) -> tuple[tuple[Zone, Part], ...]:
    """The parts of one or both sides of one area in turn, as seen by someone facing the drawing of it."""
    area = zones[0].area
    upper, lower = area.parts
    first: Side = "right" if area.view == "front" else "left"
    second: Side = "left" if first == "right" else "right"
    turn = ((first, upper), (second, upper), (second, lower), (first, lower))
    by_side = {zone.side: zone for zone in zones}
    return tuple((by_side[side], part) for side, part in turn if side in by_side)

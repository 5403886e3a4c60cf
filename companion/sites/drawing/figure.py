"""The outline of a body from the front and from the back, and where each zone lies on it. Drawn by us."""

from dataclasses import dataclass

from companion.sites.drawing.marks import Xy
from companion.sites.place import Place
from companion.sites.zones import Area, Part, View, Zone

SCALE = 7.0
"""Drawing units a centimetre."""

# One half of the outline, in cm: x from the midline, y downward from the shoulders. From the crown round the arm and
# down to above the knee, then up the inner leg.
_HALF = (
    "M0 -24C4.5 -24 7.2 -20.5 7 -15.5C6.8 -12 5.8 -9.5 4.6 -8C4.4 -6.5 4.5 -5 5 -4C6.5 -1.8 10.5 -1 14 -0.2"
    "C19 1 21.8 4 22.6 10C23.2 16 24.2 24 25.2 30C26.4 37 27.4 44 27.8 50C29 54 28.8 60 26.8 62"
    "C24.8 62 24.4 58 24.4 52C23.4 44 21.4 36 20.2 30C19 24 17.4 18 16.2 13C16.4 20 15 26 14.4 32"
    "C14 38 17 44 18 50C19 58 18.4 66 17.2 74C16.2 80 15.4 84 15 88"
    "M5 88C4.8 80 2.6 70 0.8 61L0 61"
)
_BACK_HALF = "M0.4 49C0.4 53 0.6 57 0.8 61M0.8 61C4.5 63.6 10 63.4 13.5 60"
"""The fold below the buttock and the cleft."""

TOP = -24.0
"""The crown, in cm from the shoulders."""


@dataclass(frozen=True)
class _Frame:
    """Where an area's own coordinates lie on the figure: origin in cm, width factor, slant (cm across a cm down)."""

    x: float
    y: float
    narrow: float = 1
    slant: float = 0


_FRAMES = {
    "abdomen": _Frame(0, 38),
    "thigh": _Frame(9.5, 65),
    # The back of the arm turns away from the viewer, so its width is shortened.
    "upper arm": _Frame(19.1, 11.5, 0.68, 0.13),
    "buttock": _Frame(8.5, 55),
}


def spot_on(place: Place, middle: Xy) -> Xy | None:
    """Where a spot lies on the figure whose shoulders' middle is `middle`; None for a whole zone or part."""
    if place.spot is None:
        return None
    return _on(place.zone, place.spot.part, place.spot.across, place.spot.along, middle)


def part_corners(zone: Zone, part: Part, middle: Xy) -> list[Xy]:
    """The four corners of a quadrant or half on the figure."""
    return [_on(zone, part, across, along, middle) for across, along in edges(zone, part)]


def edges(zone: Zone, part: Part) -> list[tuple[int, int]]:
    """The corners of a quadrant or half in mm across and along, half a centimetre beyond its outermost spots."""
    least = part.least + 5 if part.least else 0
    width, most = zone.area.width + 5, part.most + 5
    return [(0, least), (width, least), (width, most), (0, most)]


def centre(area: Area, middle: Xy) -> Xy:
    """Where an area's own coordinates begin, on the viewer's right."""
    frame = _FRAMES[area.name]
    return Xy(middle.x + frame.x * SCALE, middle.y + frame.y * SCALE)


def outline(view: View, middle: Xy) -> str:
    """The figure itself."""
    halves = [_HALF] if view == "front" else [_HALF, _BACK_HALF]
    paths = "".join(f'<path d="{half}"/>' for half in halves)
    mirrored = f'<g transform="scale(-1 1)">{paths}</g>'
    return (
        f'<g transform="translate({middle.x:g} {middle.y:g}) scale({SCALE:g})" fill="none" stroke="currentColor" '
        f'stroke-width="0.25" stroke-linecap="round" stroke-linejoin="round" opacity="0.75">{paths}{mirrored}</g>'
    )


def to_viewer(zone: Zone) -> int:
    """1 where outward is to the viewer's right, else -1: seen from the front, a person's left is on the right."""
    return 1 if (zone.side == "left") == (zone.area.view == "front") else -1


def _on(zone: Zone, part: Part, across: float, along: float, middle: Xy) -> Xy:
    frame = _FRAMES[zone.area.name]
    down = (-along if part.up else along) / 10
    out = frame.x + across / 10 * frame.narrow + down * frame.slant
    return Xy(middle.x + out * SCALE * to_viewer(zone), middle.y + (frame.y + down) * SCALE)

"""A spot in words: where it lies, and where it lies from the last one."""

from companion.sites.place import Place, Spot, cm
from companion.sites.zones import Area, Part, Zone

_FINGERS = {10: "one finger's width", 20: "two fingers' widths"}
"""One finger's width stands for 1 cm, as the published advice puts it."""


def part_words(zone: Zone, part: Part) -> str:
    """`upper quadrant`."""
    return f"{part.name} {zone.area.share}"


def measured(area: Area, spot: Spot) -> str:
    """`6 cm outward of the navel and 3 cm above it`."""
    way = "above" if spot.part.up else "below"
    mark = "it" if area.landmark == area.line else area.landmark
    return f"{cm(spot.across)} cm outward of {area.line} and {cm(spot.along)} cm {way} {mark}"


def from_last(place: Place, last: Place | None) -> str:
    """`one finger's width outward of the last`; empty where the last one is in another part, unknown or far."""
    if last is None or place.spot is None or last.spot is None:
        return ""
    if last.zone != place.zone or last.part != place.part:
        return ""
    out = place.spot.across - last.spot.across
    up = (place.spot.along - last.spot.along) * (1 if place.spot.part.up else -1)
    if max(abs(out), abs(up)) > 30 or not (out or up):
        return ""
    ways = [f"{_far(out)} {'outward' if out > 0 else 'inward'}"] if out else []
    ways += [f"{_far(up)} {'above' if up > 0 else 'below'}"] if up else []
    return f"{' and '.join(ways)} {'the last' if up else 'of the last'}"


def _far(mm: int) -> str:
    return _FINGERS.get(abs(mm), f"{cm(abs(mm))} cm")

"""A spot in words: where it lies, and where it lies from the last one."""

from companion.sites.place import Place, Spot, cm
from companion.sites.zones import Area, Part, Zone
from companion.speech.language import tell

_FINGERS = {10: "one finger", 20: "two fingers"}
"""One finger's width stands for 1 cm, as the published advice puts it."""


def part_words(zone: Zone, part: Part) -> str:
    """`upper quadrant`."""
    return f"{part.name} {zone.area.share}"


def measured(area: Area, spot: Spot) -> str:
    """`6 cm outward of the navel and 3 cm above it`."""
    way = "measured above" if spot.part.up else "measured below"
    mark = "it" if area.landmark == area.line else area.landmark
    return tell("en", way, across=cm(spot.across), line=area.line, along=cm(spot.along), mark=mark)


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
    across = tell("en", "outward" if out > 0 else "inward", far=_far(out))
    along = tell("en", "above" if up > 0 else "below", far=_far(up))
    ways = "both from the last" if out and up else "across from the last" if out else "along from the last"
    return tell("en", ways, out=across, up=along)


def _far(mm: int) -> str:
    return tell("en", _FINGERS.get(abs(mm), "so many cm"), cm=cm(abs(mm)))

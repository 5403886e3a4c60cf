"""The spots of a zone: a grid as wide as the least distance, in an order in which neighbours follow each other."""

from functools import lru_cache

from companion.sites.place import Place, spot_at
from companion.sites.settings import SiteSettings
from companion.sites.zones import ABDOMEN, Part, Zone


@lru_cache(maxsize=256)
def spots(zone: Zone, part: Part, settings: SiteSettings) -> tuple[Place, ...]:
    """Spots of a part, row by row, to and fro. No two in the same area lie nearer than the least distance, also
    across the midline; on the abdomen none lies nearer to the navel than its distance."""
    step = settings.site_distance
    found: list[Place] = []
    rows = [along for along in range(step, part.most + 1, step) if along > part.least]
    for number, along in enumerate(rows):
        row = [
            spot_at(zone, part, across, along)
            for across in range(step, zone.area.width + 1, step)
            if not _at_navel(zone, across, along, settings)
        ]
        found += row if number % 2 == 0 else row[::-1]
    return tuple(found)


def _at_navel(zone: Zone, across: int, along: int, settings: SiteSettings) -> bool:
    return zone.area is ABDOMEN and across**2 + along**2 < settings.navel_distance**2

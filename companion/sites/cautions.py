"""What to say when a place is noted that would not have been proposed. A fact is noted all the same."""

from datetime import date

from companion.sites.history import History, reason_words
from companion.sites.place import Place, cm
from companion.sites.settings import SiteSettings
from companion.sites.zones import ABDOMEN


def cautions(history: History, place: Place, day: date, settings: SiteSettings) -> tuple[str, ...]:
    """One sentence for each rule that an injection at `place` on `day` goes against, seen before it is noted."""
    found = []
    spot, distance = place.spot, settings.site_distance
    for each in history.avoided():
        if each.where.covers(place) or place.within(each.where, distance):
            found.append(f"{each.place} is to be avoided since {each.day.isoformat()}: {reason_words(each.reason)}.")
    if spot is not None and place.zone.area is ABDOMEN:
        navel = settings.navel_distance
        if spot.across**2 + spot.along**2 < navel**2:
            found.append(f"{place.code} is nearer to the navel than {cm(navel)} cm.")
    near = [use for use in history.uses() if place.within(use.where, distance)]
    if near and (day - near[-1].day).days < settings.rest_days:
        found.append(
            f"{place.code} is nearer than {cm(distance)} cm to where an injection went on {near[-1].day.isoformat()}."
        )
    return tuple(found)

"""What the session says at the step where a site is chosen, and what the choice then means."""

from datetime import date

from companion.core.sites.history import History, Used
from companion.core.sites.place import Place
from companion.core.sites.proposal import NothingLeft, Proposal, propose
from companion.core.sites.settings import SiteSettings
from companion.core.sites.zones import Zone, zone_named


def spoken_proposal(history: History, today: date, settings: SiteSettings, wanted_zone: Zone | None = None) -> str:
    """One sentence for the site step: the spot whose turn it is, or that there is none. It holds no reply of that
    step word for word, so that its echo is never taken for one."""
    try:
        return f"Next in turn: {propose(history, today, settings, wanted_zone).spoken}."
    except NothingLeft as refusal:
        return refusal.spoken


def spoken_choice(history: History, today: date, settings: SiteSettings, choice: str) -> str:
    """What to say once a zone was chosen, where it is not the one proposed: the spot in it whose turn it is. Empty
    when the choice follows the proposal, or is no zone."""
    zone = zone_named(choice)
    if zone is None or _proposed(history, today, settings, zone) is not None:
        return ""
    return spoken_proposal(history, today, settings, zone)


def chosen_place(history: History, today: date, settings: SiteSettings, choice: str) -> Place | None:
    """The place that a choice such as `left abdomen` means: the spot the program named in that zone, or the zone
    alone where no spot is left in it. None when the choice is no zone for insulin."""
    zone = zone_named(choice)
    if zone is None:
        return None
    proposed = _proposed(history, today, settings, zone)
    if proposed is not None:
        return proposed.place
    try:
        return propose(history, today, settings, zone).place
    except NothingLeft:
        return Place(zone)


def used_spot(history: History, today: date, settings: SiteSettings, choice: str) -> Used | None:
    """The note to be made once the needle is in: the chosen place as used. None for no zone."""
    place = chosen_place(history, today, settings, choice)
    return None if place is None else Used(day=today, place=place.code)


def _proposed(history: History, today: date, settings: SiteSettings, zone: Zone) -> Proposal | None:
    """The spot proposed before any choice, where it lies in `zone`."""
    try:
        found = propose(history, today, settings)
    except NothingLeft:
        return None
    return found if found.zone == zone else None

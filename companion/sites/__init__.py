"""Site rotation: where the next injection under the skin goes, from what was noted before. Pure."""

from companion.sites.history import REASONS, Avoided, Fit, History, Noted, Reason, Undone, Used, reason_words
from companion.sites.place import Place, Spot, read_place
from companion.sites.proposal import NothingLeft, Proposal, propose
from companion.sites.settings import SiteSettings, site_settings
from companion.sites.spoken import Named, named_in_turn
from companion.sites.zones import AREAS, ZONES, Zone, zone_named

__all__ = [
    "AREAS",
    "REASONS",
    "ZONES",
    "Avoided",
    "Fit",
    "History",
    "Named",
    "Noted",
    "NothingLeft",
    "Place",
    "Proposal",
    "Reason",
    "SiteSettings",
    "Spot",
    "Undone",
    "Used",
    "Zone",
    "named_in_turn",
    "propose",
    "read_place",
    "reason_words",
    "site_settings",
    "zone_named",
]

"""The body map for a session that keeps no history of sites."""

from datetime import date

from companion.procedure.model import Procedure
from companion.sites.drawing import body_map
from companion.sites.history import History
from companion.sites.settings import site_settings
from companion.sites.zones import zone_named
from companion.speech.values import ChoiceValue


def plain_map(procedure: Procedure) -> str:
    """The zones alone, as SVG; empty where the procedure's choices are none of them."""
    if procedure.medicine is None or procedure.medicine.site is None:
        return ""
    spec = procedure.step(procedure.medicine.site).stated
    if not isinstance(spec, ChoiceValue) or not any(zone_named(choice) for choice in spec.choices):
        return ""
    settings = site_settings({setting.id: setting.value for setting in procedure.settings})
    return body_map(History(), date.min, settings, proposing=False)

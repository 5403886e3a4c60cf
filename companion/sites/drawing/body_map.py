"""The body map: a figure from the front and from the back, the zones on it, and the zone in turn enlarged."""

from datetime import date
from xml.sax.saxutils import escape

from companion.sites.drawing.figure import SCALE, TOP, centre, outline, part_corners, spot_on, to_viewer
from companion.sites.drawing.marks import Xy, ago, avoided_spot, hatch, line, polygon, ring, target, text, used
from companion.sites.drawing.panel import Panel, avoided_because
from companion.sites.history import History, reason_words
from companion.sites.place import Place, cm
from companion.sites.proposal import NothingLeft, Proposal, propose
from companion.sites.settings import SiteSettings
from companion.sites.spot_words import measured, part_words
from companion.sites.zones import ABDOMEN, AREAS, ZONES, View, Zone, zones_of
from companion.speech.language import tell

_WIDTH, _HEIGHT = 1240.0, 900.0
_BARE_WIDTH = 840.0
"""Without anything beside the figures."""
_SHOULDERS = 56 - TOP * SCALE
_MIDDLES: dict[View, Xy] = {"front": Xy(210, _SHOULDERS), "back": Xy(630, _SHOULDERS)}
_PANEL = Xy(870, 206)
_LABELS = {"abdomen": Xy(7.4, 28.3), "thigh": Xy(10.4, 82.5), "upper arm": Xy(8.1, 12.5), "buttock": Xy(9.5, 46)}
"""Where a zone's name stands, in cm from the middle of the shoulders, on the viewer's right."""


def body_map(
    history: History, today: date, settings: SiteSettings, wanted_zone: Zone | None = None, proposing: bool = True
) -> str:
    """The map as an SVG document: zones, used spots paler and smaller the longer ago, avoided places hatched, and the
    spot in turn in `wanted_zone` (or as `propose` chooses). With `proposing` false it shows only what was noted, and
    where nothing was, the zones alone.

    It takes the colour of the text around it, holds no script and no style, and describes itself to a screen reader.
    """
    proposal, refusal = None, ""
    if proposing:
        try:
            proposal = propose(history, today, settings, wanted_zone)
        except NothingLeft as fault:
            refusal = str(fault)
    bare = not proposing and not history.noted
    body = _figures(history, today, settings, proposal) + ([] if bare else _legend())
    if proposal is not None:
        body += _panel(history, today, settings, proposal)
    elif refusal:
        body += _lines(refusal[0].upper() + refusal[1:] + ".", Xy(_PANEL.x, 80), 18)
    said = escape(_description(history, proposal, refusal))
    width = _BARE_WIDTH if bare else _WIDTH
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {_HEIGHT:g}" role="img" '
        'aria-labelledby="site-map-title site-map-desc" font-family="system-ui, sans-serif">'
        f'<title id="site-map-title">{tell("en", "map")}</title><desc id="site-map-desc">{said}</desc>'
        f"{hatch()}{''.join(body)}</svg>\n"
    )


def _figures(history: History, today: date, settings: SiteSettings, proposal: Proposal | None) -> list[str]:
    found = []
    for view, middle in _MIDDLES.items():
        found += [outline(view, middle), text(Xy(middle.x, 30), tell("en", f"map {view}"), 20, bold=True)]
        sides = ("right", "left") if view == "front" else ("left", "right")
        for way, side in zip((-1, 1), sides, strict=True):
            found.append(text(Xy(middle.x + way * 140, 100), tell("en", "map side", side=side), 15))
        if view == "front":
            navel = centre(ABDOMEN, middle)
            found += [ring(navel, 3.5, 1.5), ring(navel, settings.navel_distance / 10 * SCALE, 0.7, dashed=True)]
    for zone in ZONES:
        found += _zone(zone, history)
    last = {use.where: use.day for use in history.uses()}
    for place, day in last.items():
        at = _on_figure(place)
        if at is not None:
            found.append(used(at, 3.2, (today - day).days, ago(day, today)))
    for each in history.avoided():
        at = _on_figure(each.where)
        if at is not None:
            found.append(avoided_spot(at, 6, reason_words(each.reason)))
    if proposal is not None:
        at = _on_figure(proposal.place)
        if at is not None:
            found.append(target(at, 7, tell("en", "mark turn")))
    return found


def _zone(zone: Zone, history: History) -> list[str]:
    middle = _MIDDLES[zone.area.view]
    found = []
    for part in zone.area.parts:
        whole = Place(zone, part)
        found.append(polygon(part_corners(zone, part, middle), avoided_because(whole, history)))
    label = _LABELS[zone.area.name]
    at = Xy(middle.x + to_viewer(zone) * label.x * SCALE, middle.y + label.y * SCALE)
    return [*found, text(Xy(at.x, at.y - 20), zone.side, 19), text(at, zone.area.name, 19)]


def _on_figure(place: Place) -> Xy | None:
    return spot_on(place, _MIDDLES[place.zone.area.view])


def _panel(history: History, today: date, settings: SiteSettings, proposal: Proposal) -> list[str]:
    spot, part, zone = proposal.place.spot, proposal.place.part, proposal.zone
    assert spot is not None and part is not None  # a proposal is always a spot
    exact = measured(zone.area, spot)
    panel = Panel(proposal, settings, _PANEL, 330, 420)
    return [
        text(Xy(_PANEL.x, 40), tell("en", "map turn"), 17, "start"),
        text(Xy(_PANEL.x, 72), zone.name, 28, "start", bold=True),
        text(Xy(_PANEL.x, 104), part_words(zone, part), 22, "start", bold=True),
        *_lines(exact, Xy(_PANEL.x, 134), 18),
        panel.draw(history, today),
    ]


def _legend() -> list[str]:
    x, y, step = _PANEL.x, 748.0, 30.0
    rows: list[tuple[str, str]] = [
        (target(Xy(x + 12, y), 6, ""), tell("en", "mark turn")),
        (
            "".join(used(Xy(x + 2 + 16 * n, y + step), 7, age, "") for n, age in enumerate((0, 10, 40))),
            tell("en", "mark used"),
        ),
        (avoided_spot(Xy(x + 12, y + 2 * step), 8, ""), tell("en", "mark avoid")),
        (ring(Xy(x + 12, y + 3 * step), 3.5), tell("en", "unused")),
    ]
    found = [line(Xy(x, y - 28), Xy(_WIDTH - 30, y - 28))]
    for number, (mark, words) in enumerate(rows):
        found += [mark, text(Xy(x + 50, y + number * step + 5), words, 15, "start")]
    return found


def _lines(words: str, at: Xy, size: float) -> list[str]:
    """Text broken into lines of up to 36 characters."""
    lines = [""]
    for word in words.split():
        if len(lines[-1]) + len(word) >= 36:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return [text(Xy(at.x, at.y + number * size * 1.3), each, size, "start") for number, each in enumerate(lines)]


def _description(history: History, proposal: Proposal | None, refusal: str) -> str:
    """The map in words."""
    said = [tell("en", "map shows")]
    if proposal is not None:
        said.append(tell("en", "next in turn", spot=proposal.words))
    if refusal:
        said.append(f"{refusal[0].upper()}{refusal[1:]}.")
    for area in AREAS:
        for zone in zones_of(area):
            uses = [use for use in history.uses() if use.where.zone == zone]
            if uses:
                name, day, times = zone.name.capitalize(), uses[-1].day.isoformat(), len(uses)
                said.append(tell("en", "map used once" if times == 1 else "map used", zone=name, times=times, day=day))
    for each in history.avoided():
        where, day, reason = _in_words(each.where), each.day.isoformat(), reason_words(each.reason)
        said.append(tell("en", "map avoid", where=where, day=day, reason=reason))
    return " ".join(said)


def _in_words(place: Place) -> str:
    zone, spot = place.zone, place.spot
    if spot is not None:
        return tell("en", "map spot", zone=zone.name, across=cm(spot.across), part=part_words(zone, spot.part))
    return tell("en", "map part", zone=zone.name, part=part_words(zone, place.part)) if place.part else zone.name

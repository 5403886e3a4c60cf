"""One zone enlarged, with every spot of its grid: free, used, avoided, and the one in turn."""

from datetime import date

from companion.sites.drawing.figure import edges, to_viewer
from companion.sites.drawing.marks import (
    Anchor,
    Xy,
    ago,
    avoided_spot,
    line,
    num,
    polygon,
    ring,
    target,
    text,
    used,
)
from companion.sites.grid import spots
from companion.sites.history import History, reason_words
from companion.sites.place import Place, cm
from companion.sites.proposal import Proposal
from companion.sites.settings import SiteSettings
from companion.sites.spot_words import part_words
from companion.sites.zones import ABDOMEN, Part
from companion.speech.language import tell

_LARGEST = 38.0
"""Drawing units a centimetre at most."""


class Panel:
    """Draws the zone of `proposal` into a box whose upper left corner is `corner`."""

    def __init__(self, proposal: Proposal, settings: SiteSettings, corner: Xy, width: float, height: float) -> None:
        self._proposal = proposal
        self._settings = settings
        self._corner = corner
        self._width = width
        zone = proposal.zone
        self._zone = zone
        self._above = max([along for part in zone.area.parts if part.up for _, along in edges(zone, part)], default=0)
        self._below = max(
            [along for part in zone.area.parts if not part.up for _, along in edges(zone, part)], default=0
        )
        self._scale = min(_LARGEST, width / (zone.area.width / 10 + 1.5), height / (self._above + self._below) * 10)
        used_width = (zone.area.width + 5) / 10 * self._scale
        side = to_viewer(zone)
        middle = corner.x + width / 2
        self._origin = Xy(middle - side * used_width / 2, corner.y + self._above / 10 * self._scale)

    def draw(self, history: History, today: date) -> str:
        """The panel as SVG."""
        return "".join([*self._ground(history), *self._spots(history, today), *self._scale_bar()])

    @property
    def bottom(self) -> float:
        """The lowest y that is drawn on."""
        return self._origin.y + self._below / 10 * self._scale + 56

    def _at(self, part: Part, across: float, along: float) -> Xy:
        up = along if part.up else -along
        x = self._origin.x + to_viewer(self._zone) * across / 10 * self._scale
        return Xy(x, self._origin.y - up / 10 * self._scale)

    def _ground(self, history: History) -> list[str]:
        area, found = self._zone.area, []
        for part in area.parts:
            corners = [self._at(part, *corner) for corner in edges(self._zone, part)]
            found.append(polygon(corners, avoided_because(Place(self._zone, part), history), 1.5))
            halfway = (part.least + part.most) / 2
            found.append(self._sideways(self._at(part, area.width + 5, halfway), part_words(self._zone, part), 1))
        return found + (self._navel() if area is ABDOMEN else self._landmarks())

    def _navel(self) -> list[str]:
        """The navel and how far to keep from it."""
        side, inner = to_viewer(self._zone), self._settings.navel_distance / 10 * self._scale
        start, end = Xy(self._origin.x, self._origin.y - inner), Xy(self._origin.x, self._origin.y + inner)
        arc = f"A{num(inner)} {num(inner)} 0 0 {int(side == 1)} {num(end.x)} {num(end.y)}"
        anchor: Anchor = "start" if side == 1 else "end"
        x = self._origin.x + side * 14
        return [
            ring(self._origin, 7, 2),
            f'<path d="M{num(start.x)} {num(start.y)}{arc}" fill="none" stroke="currentColor" stroke-dasharray="4 4"/>',
            text(Xy(x, self._origin.y - 8), "navel", 15, anchor),
            text(
                Xy(x, self._origin.y + 20), tell("en", "mark clear", cm=cm(self._settings.navel_distance)), 15, anchor
            ),
        ]

    def _landmarks(self) -> list[str]:
        """The line and the height that the figures in words are counted from."""
        area = self._zone.area
        middle = Xy(self._origin.x, self._origin.y + (self._below - self._above) / 20 * self._scale)
        found = [self._sideways(middle, area.line.removeprefix("the "), -1)]
        if area.landmark != area.line:
            along = Xy(self._corner.x + self._width / 2, self._origin.y - 8)
            found.append(text(along, area.landmark.removeprefix("the "), 15))
        return found

    def _sideways(self, at: Xy, words: str, outward: int) -> str:
        """Text along an edge, just outward (1) or inward (-1) of it."""
        right = to_viewer(self._zone) * outward == 1
        x = at.x + (9 if right else -9)
        turned = f"translate({num(x)} {num(at.y)}) rotate({90 if right else -90})"
        return f'<g transform="{turned}">{text(Xy(0, 0), words, 15)}</g>'

    def _spots(self, history: History, today: date) -> list[str]:
        zone, distance = self._zone, self._settings.site_distance
        radius = min(9.0, self._scale * distance / 10 * 0.3)
        proposed = self._proposal.place
        last = {use.where: use.day for use in history.uses() if zone == use.where.zone}
        free = [
            place
            for part in zone.area.parts
            for place in spots(zone, part, self._settings)
            if place != proposed and not any(place.within(each, distance) for each in last)
        ]
        found = [ring(self._xy(place), radius * 0.45) for place in free]
        found += [
            used(self._xy(place), radius, (today - day).days, ago(day, today))
            for place, day in last.items()
            if place.spot and place != proposed
        ]
        found += [
            avoided_spot(self._xy(each.where), radius * 1.3, reason_words(each.reason))
            for each in history.avoided()
            if each.where.zone == zone and each.where.spot
        ]
        return [*found, target(self._xy(proposed), radius, tell("en", "mark turn"))]

    def _xy(self, place: Place) -> Xy:
        assert place.spot is not None  # only spots are marked
        return self._at(place.spot.part, place.spot.across, place.spot.along)

    def _scale_bar(self) -> list[str]:
        """One centimetre, and which way is outward."""
        y = self.bottom - 32
        left = Xy(self._corner.x, y)
        right = Xy(left.x + self._scale, y)
        ticks = [line(Xy(end.x, y - 5), Xy(end.x, y + 5), 2) for end in (left, right)]
        side = to_viewer(self._zone)
        middle = self._corner.x + self._width / 2 + 30
        tip = Xy(middle + side * 75, y)
        head = [line(tip, Xy(tip.x - side * 9, y + way), 2) for way in (-6, 6)]
        tail = Xy(middle + side * 40, y)
        return [
            line(left, right, 2),
            *ticks,
            text(Xy(right.x + 8, y + 5), "1 cm", 15, "start"),
            text(Xy(middle, y + 5), "outward", 15),
            line(tail, tip, 2),
            *head,
        ]


def avoided_because(whole: Place, history: History) -> str:
    """Why a whole part is to be avoided; empty when it is not."""
    return ", ".join(reason_words(each.reason) for each in history.avoided() if each.where.covers(whole))

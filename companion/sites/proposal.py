"""The next place in turn.

A quadrant or half serves for a week, then the next one clockwise (Frid 2016; FIT UK 2016). In it the spot that was
used least often and has rested longest comes first. No spot that is avoided, that has not rested, or that lies too
near to the last one or to the navel is ever proposed.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from companion.errors import UsageError
from companion.sites.grid import spots
from companion.sites.history import History, Used
from companion.sites.place import Place
from companion.sites.settings import WEEK, SiteSettings
from companion.sites.spot_words import from_last, measured, part_words
from companion.sites.zones import AREAS, ZONES, Area, Part, Zone, clockwise, zones_of
from companion.speech.language import tell


class NothingLeft(UsageError):
    """No spot may be used. `spoken` is the same for a voice, without any zone's own name."""

    def __init__(self, message: str, spoken: str) -> None:
        self.spoken = spoken
        super().__init__(message)


@dataclass(frozen=True)
class Proposal:
    """A spot and why it is its turn."""

    place: Place
    words: str
    """`left abdomen, upper quadrant, one finger's width outward of the last: 6 cm outward of the navel and 3 cm
    above it`."""
    spoken: str
    """The same without the zone's own name, which is the reply to be given."""
    reason: str

    @property
    def zone(self) -> Zone:
        return self.place.zone


@dataclass(frozen=True)
class _Candidate:
    place: Place
    times: int
    """How often it was used, or a place nearer to it than the least distance."""
    last: date | None


@dataclass(frozen=True)
class _Turn:
    """The part whose turn it is, and why."""

    index: int
    reason: str


def propose(history: History, today: date, settings: SiteSettings, wanted_zone: Zone | None = None) -> Proposal:
    """The next spot in `wanted_zone`, or else in the area of the last injection (the abdomen for a first one).

    Without a wanted zone, an area that has nothing left is followed by the next; the reason says so. The same history,
    day and settings give the same spot. Raises NothingLeft.
    """
    look = _Look(history, today, settings)
    if wanted_zone is not None:
        found = look.best((wanted_zone,))
        if found is None:
            raise look.nothing_left(wanted_zone)
        return found
    start = look.uses[-1].where.zone.area if look.uses else AREAS[0]
    for area in _from(start):
        found = look.best(zones_of(area))
        if found is not None:
            return found if area is start else look.elsewhere(found, start)
    raise look.nothing_left(None)


def _from(start: Area) -> tuple[Area, ...]:
    first = AREAS.index(start)
    return AREAS[first:] + AREAS[:first]


class _Look:
    """One look at a history on a day."""

    def __init__(self, history: History, today: date, settings: SiteSettings) -> None:
        self.today = today
        self.settings = settings
        self.uses = history.uses()
        self.avoided = [each.where for each in history.avoided()]
        self._points: dict[tuple[str, int, int], tuple[int, date]] = {}
        for use in self.uses:  # oldest first, so the last day stands
            point = use.where.point
            if point is not None:
                self._points[point] = (self._points.get(point, (0, use.day))[0] + 1, use.day)
        self._last = self.uses[-1].where if self.uses else None

    def best(self, zones: tuple[Zone, ...]) -> Proposal | None:
        """The spot whose turn it is in one or both sides of an area; None where nothing is free."""
        order = clockwise(zones)
        free = {zone: self._least_used(zone) for zone in zones}
        turn = self._turn(order)
        for step in range(len(order)):
            zone, part = order[(turn.index + step) % len(order)]
            here = [each for each in free[zone] if each.place.part == part]
            if here:
                chosen = min(here, key=lambda each: each.last or date.min)
                return self._proposal(chosen, self._why(turn, step, order))
        return None

    def free(self, zone: Zone) -> list[_Candidate]:
        """Every spot that may be used today, in the order of the grid."""
        return [each for part in zone.area.parts for each in self._free(zone, part)]

    def _free(self, zone: Zone, part: Part) -> list[_Candidate]:
        distance = self.settings.site_distance
        found = []
        for place in spots(zone, part, self.settings):
            if self.is_avoided(place) or (self._last is not None and place.within(self._last, distance)):
                continue
            candidate = self._candidate(place)
            if candidate.last is None or (self.today - candidate.last).days >= self.settings.rest_days:
                found.append(candidate)
        return found

    def is_avoided(self, place: Place) -> bool:
        distance = self.settings.site_distance
        return any(each.covers(place) or place.within(each, distance) for each in self.avoided)

    def _candidate(self, place: Place) -> _Candidate:
        here, reach = place.point, self.settings.site_distance**2
        assert here is not None  # a grid holds spots only
        near = [
            seen
            for (plane, x, y), seen in self._points.items()
            if plane == here[0] and (x - here[1]) ** 2 + (y - here[2]) ** 2 < reach
        ]
        return _Candidate(place, sum(times for times, _ in near), max((day for _, day in near), default=None))

    def _least_used(self, zone: Zone) -> list[_Candidate]:
        free = self.free(zone)
        least = min((each.times for each in free), default=0)
        return [each for each in free if each.times == least]

    def _turn(self, order: tuple[tuple[Zone, Part], ...]) -> _Turn:
        numbers = {each: number for number, each in enumerate(order)}
        wheres = [(use.where, use.day) for use in self.uses]
        known = [
            (numbers[where.zone, where.part], day)
            for where, day in wheres
            if where.part is not None and (where.zone, where.part) in numbers
        ]
        if not known:
            return _Turn(0, tell("en", "first here"))
        index, begun = known[-1]
        for number, day in reversed(known):
            if number != index:
                break
            begun = day
        zone, part = order[index]
        if (self.today - begun).days < WEEK:
            return _Turn(index, tell("en", "has its week", share=zone.area.share, day=begun.isoformat()))
        over = tell("en", "week over", part=part_words(zone, part), side=zone.side)
        return _Turn((index + 1) % len(order), over)

    def _why(self, turn: _Turn, step: int, order: tuple[tuple[Zone, Part], ...]) -> str:
        if step == 0:
            return turn.reason
        zone, part = order[turn.index]
        return tell("en", "next clockwise", part=part_words(zone, part), side=zone.side)

    def _proposal(self, chosen: _Candidate, why: str) -> Proposal:
        place = chosen.place
        spot, part, zone = place.spot, place.part, place.zone
        assert spot is not None and part is not None  # a grid holds spots only
        last = self._last_in(zone)
        near = from_last(place, last.where if last else None)
        exact = measured(zone.area, spot)
        rested = tell("en", "unused")
        if chosen.last is not None:
            rested = tell("en", "rested", days=(self.today - chosen.last).days)
        reason = tell("en", "turn", why=why, rested=rested)
        if self._last is not None and self._last.spot is None and self._last.zone == zone:
            reason += " " + tell("en", "last not noted")

        def where(name: str) -> str:
            key = "spot from the last" if near else "spot"
            return tell("en", key, zone=name, part=part_words(zone, part), near=near, exact=exact)

        return Proposal(place, where(zone.name), where(zone.spoken), reason)

    def _last_in(self, zone: Zone) -> Used | None:
        return next((use for use in reversed(self.uses) if use.where.zone == zone), None)

    def elsewhere(self, found: Proposal, start: Area) -> Proposal:
        """The same, saying that the area was changed."""
        change = tell("en", "another area", area=start.name)
        return Proposal(found.place, found.words, found.spoken, f"{change} {found.reason}")

    def nothing_left(self, wanted: Zone | None) -> NothingLeft:
        """The refusal: why, when a spot is free again, and where there are some now."""
        zones = ZONES if wanted is None else (wanted,)
        why, when = self._why_not([place for zone in zones for place in self._all(zone)])
        others = ", ".join(zone.name for zone in ZONES if zone not in zones and self.free(zone))
        left = f"spots are left on: {others}" if others else "no spot is left anywhere else"
        name = place = tell("en", "in any place")
        if wanted is not None:
            name, place = f"on the {wanted.name}", tell("en", "in this place", zone=wanted.spoken)
        message = f"no spot is left {name}: {why}; {when}" + ("" if wanted is None else f"; {left}")
        advice = tell("en", "anywhere else" if others else "nowhere else")
        return NothingLeft(message, tell("en", "no spot left", where=place, why=why, advice=advice))

    def _why_not(self, places: list[Place]) -> tuple[str, str]:
        """Why none of them is free, and when or how one will be."""
        usable = [place for place in places if not self.is_avoided(place)]
        if not usable:
            return tell("en", "all avoided"), "look again at what is avoided, and note what is fit"
        last, distance = self._last, self.settings.site_distance
        resting = [place for place in usable if last is None or not place.within(last, distance)]
        if not resting:
            return tell("en", "only the last"), "it can be used after another one"
        first = min((self._candidate(place).last or self.today for place in resting), default=self.today)
        rest = self.settings.rest_days
        day = first + timedelta(days=rest)
        return tell("en", "none rested", days=rest), f"the first is free again on {day.isoformat()}"

    def _all(self, zone: Zone) -> list[Place]:
        return [place for part in zone.area.parts for place in spots(zone, part, self.settings)]

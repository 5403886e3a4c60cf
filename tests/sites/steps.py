"""Following proposals, and an independent reading of where a spot lies."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction

from companion.sites import History, NothingLeft, Proposal, SiteSettings, Used, Zone, propose

START = date(2030, 1, 1)


def used(*places: str, day: date = START) -> History:
    """A history of injections, all on one day."""
    history = History()
    for n, place in enumerate(places, 1):
        history = history.taking(Used(day=day, place=place), n)
    return history


@dataclass
class Ward:
    """Somebody who always follows the proposal."""

    settings: SiteSettings = field(default_factory=SiteSettings)
    history: History = field(default_factory=History)
    today: date = START

    def inject(self, zone: Zone | None = None) -> Proposal:
        """The next injection. Raises NothingLeft."""
        found = propose(self.history, self.today, self.settings, zone)
        self.history = self.history.taking(Used(day=self.today, place=found.place.code), len(self.history.noted) + 1)
        return found

    def inject_when_possible(self, zone: Zone | None = None) -> Proposal:
        """The same, letting days pass until a spot is free."""
        for _ in range(self.settings.rest_days + 1):
            try:
                return self.inject(zone)
            except NothingLeft:
                self.today += timedelta(days=1)
        raise AssertionError(f"nothing became free in {self.settings.rest_days} days")

    def weeks(self, count: int, a_day: int, zone: Zone | None = None) -> Iterator[tuple[int, Proposal]]:
        """Whole weeks of injections, each with the number of its week."""
        for day in range(count * 7):
            self.today = START + timedelta(days=day)
            for _ in range(a_day):
                yield day // 7, self.inject(zone)


def on_body(code: str) -> tuple[str, Fraction, Fraction]:
    """Where `left-abdomen/upper-6-3` lies, read from the text alone: the skin it is on, cm to the person's left, and
    cm up from the area's landmark. Left and right abdomen are one skin."""
    zone, _, inner = code.partition("/")
    part, across, along = inner.split("-")
    side, area = zone.split("-", 1)
    skin = area if area == "abdomen" else zone
    upward = {"abdomen": part == "upper", "buttock": True}.get(area, False)
    x, y = Fraction(across), Fraction(along)
    return skin, x if side == "left" else -x, y if upward else -y


def square_apart(one: str, other: str) -> Fraction | None:
    """The square of the distance in cm; None when they lie on different skins."""
    (skin, x, y), (skin_2, x_2, y_2) = on_body(one), on_body(other)
    return (x - x_2) ** 2 + (y - y_2) ** 2 if skin == skin_2 else None

"""What the session says at the step where a site is chosen, and which spot it then means."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from companion.sites.history import Avoided, History
from companion.sites.place import Place
from companion.sites.proposal import NothingLeft, propose
from companion.sites.settings import SiteSettings
from companion.speech.language import tell

_MOST = 5
"""So many spots are named, one after another; a patient in whom none of them is fit needs another look."""


@dataclass(frozen=True)
class Named:
    """A sentence for the site step, and the spot it names; None where it names none. The sentence holds no reply of
    that step word for word, so that its echo is never taken for one."""

    text: str
    place: Place | None


def named_in_turn(history: History, today: date, settings: SiteSettings) -> tuple[Named, ...]:
    """What to say at the site step, one after another: each names the spot whose turn it is when those named before
    were found unfit, at a distance from them. The last one names none."""
    return tuple(_named(history, today, settings))


def _named(history: History, today: date, settings: SiteSettings) -> Iterator[Named]:
    for _ in range(_MOST):
        try:
            found = propose(history, today, settings)
        except NothingLeft as refusal:
            yield Named(refusal.spoken, None)
            return
        yield Named(tell("en", "next in turn", spot=found.spoken), found.place)
        unfit = Avoided(day=today, place=found.place.code, reason="lump or bruise")
        history = history.taking(unfit, max((note.n for note in history.noted), default=0) + 1)
    yield Named(tell("en", "no further spot"), None)

"""What has been noted about places: used, avoided, fit again, taken back. No word about the patient."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, Field, TypeAdapter

from companion.errors import EventRefused, UsageError
from companion.sites.place import Place, read_place
from companion.speech.values import Frozen

Reason = Literal[
    "lump", "bruise", "lump or bruise", "scar", "broken skin", "wound or scar", "device", "wish", "too close"
]
"""Why a place is avoided. From a fixed list, so that nothing about a person can be written down by mistake.
The double ones are what the procedure's branch for a site that is not fit lets people say."""

REASONS: tuple[Reason, ...] = get_args(Reason)

REASON_WORDS: dict[Reason, str] = {
    "lump": "lump or hardened fat",
    "device": "another device is there",
    "wish": "the patient's wish",
    "too close": "too close to the last one or to the navel",
}
"""Where the reason alone says too little."""


def reason_words(reason: Reason) -> str:
    """The reason as shown."""
    return REASON_WORDS.get(reason, reason)


def _a_place(code: str) -> str:
    try:
        return read_place(code).code
    except UsageError as fault:
        raise ValueError(str(fault)) from fault


PlaceCode = Annotated[str, AfterValidator(_a_place)]


class Used(Frozen):
    """An injection was given at `place` on `day`. A zone or part alone means that the exact spot was not noted."""

    kind: Literal["used"] = "used"
    day: date
    place: PlaceCode

    @property
    def where(self) -> Place:
        return read_place(self.place)


class Avoided(Frozen):
    """`place` is not to be used, since `day`, until it is noted as fit again."""

    kind: Literal["avoided"] = "avoided"
    day: date
    place: PlaceCode
    reason: Reason

    @property
    def where(self) -> Place:
        return read_place(self.place)


class Fit(Frozen):
    """Whatever was avoided within `place` may be used again."""

    kind: Literal["fit"] = "fit"
    day: date
    place: PlaceCode

    @property
    def where(self) -> Place:
        return read_place(self.place)


class Undone(Frozen):
    """Note number `undoes` was a mistake."""

    kind: Literal["undone"] = "undone"
    day: date
    undoes: int = Field(ge=1)


SiteEvent = Used | Avoided | Fit | Undone
AnySiteEvent = Annotated[SiteEvent, Field(discriminator="kind")]
SITE_EVENT: TypeAdapter[SiteEvent] = TypeAdapter(AnySiteEvent)


@dataclass(frozen=True)
class Noted:
    """An event under its number, from 1."""

    n: int
    event: SiteEvent


@dataclass(frozen=True)
class History:
    """Everything noted under one tag, in the order in which it was noted."""

    noted: tuple[Noted, ...] = ()

    def standing(self) -> tuple[Noted, ...]:
        """What has not been taken back, without the taking back itself."""
        gone = {note.event.undoes for note in self.noted if isinstance(note.event, Undone)}
        return tuple(note for note in self.noted if note.n not in gone and not isinstance(note.event, Undone))

    def uses(self) -> tuple[Used, ...]:
        """Injections, oldest day first; on one day in the order noted."""
        found = [note.event for note in self.standing() if isinstance(note.event, Used)]
        return tuple(sorted(found, key=lambda use: use.day))

    def avoided(self) -> tuple[Avoided, ...]:
        """What is to be avoided now."""
        found: list[Avoided] = []
        for note in self.standing():
            event = note.event
            if isinstance(event, Avoided):
                found.append(event)
            elif isinstance(event, Fit):
                found = [each for each in found if not event.where.covers(each.where)]
        return tuple(found)

    def taking(self, event: SiteEvent, n: int) -> "History":
        """With `event` noted as number `n`. Raises EventRefused when it makes no sense here."""
        if isinstance(event, Undone) and event.undoes not in {note.n for note in self.standing()}:
            raise EventRefused(f"note {event.undoes} does not stand here; there is nothing to undo")
        if isinstance(event, Fit) and not any(event.where.covers(each.where) for each in self.avoided()):
            now = ", ".join(dict.fromkeys(each.place for each in self.avoided())) or "nothing"
            raise EventRefused(f"{event.place}: nothing in it is being avoided; avoided now: {now}")
        return History((*self.noted, Noted(n, event)))

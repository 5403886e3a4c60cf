"""What can happen in a session. Frozen, versioned, and all that the machine ever sees."""

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from companion.speech.values import Frozen

EVENTS_VERSION = 2
"""Raised whenever the meaning of an event changes; a record says which it was written with. Since 2 a reply tells how
it was understood, and what is likely meant is asked back."""

By = Literal["voice", "key"]
How = Literal["phrase", "own words", "asked back"]
"""How a reply was understood: said as it stands, in words of the speaker's own, or confirmed when it was asked back."""


class Event(Frozen):
    """`at_ms` is the session time: whole milliseconds since the first entry, pauses and crashes included."""

    at_ms: int = Field(ge=0)


class StepNote(Frozen):
    """Something to be said whenever a step is asked, known only for this session.

    A step may have several, said one at a time: the next takes its place when a branch starts again from the step,
    after `value`, where there is one, had been given there.
    """

    step: str
    text: str
    value: str = ""


class Started(Event):
    """The session begins. `performer` is a staff tag, `today` an ISO date."""

    kind: Literal["started"] = "started"
    performer: str
    today: str
    mode: Literal["rehearsal", "bedside"] = "rehearsal"
    notes: tuple[StepNote, ...] = ()


class Answer(Event):
    """Phrases that were said, or meant in other words: most often one, or those that one reply gave to what a step asks
    in turn. `margin` is the engine's of a phrase, and of own words that of the reader of meanings."""

    phrase: str = ""
    also: tuple[str, ...] = ()
    by: By = "voice"
    engine: str = ""
    margin: str = ""

    @property
    def phrases(self) -> tuple[str, ...]:
        return (self.phrase, *self.also) if self.phrase else ()


class Replied(Answer):
    """An allowed phrase was surely heard, or typed, or is what was surely meant in other words, which nobody keeps."""

    kind: Literal["replied"] = "replied"
    phrase: str
    how: How = "phrase"


class AskedBack(Answer):
    """Own words most likely meant `phrase`: whether they did is asked. Without one it was a mere yes or no where the
    answer needs more."""

    kind: Literal["asked back"] = "asked back"


class Missed(Event):
    """Speech was heard and not taken: `unclear` was near a phrase, `other` was none of them.

    `told`: whether a sign followed, whichever it was. Records of before lack it: `other` then passed without one.
    """

    kind: Literal["missed"] = "missed"
    why: Literal["unclear", "other"]
    told: bool = False
    nearest: str | None = None
    reason: str = ""
    engine: str = ""
    margin: str = ""


class Silent(Event):
    """Nobody has spoken for a good while."""

    kind: Literal["silent"] = "silent"


class TimeUp(Event):
    """A timer the machine set has run out; `timer` is its text (`session.timers`)."""

    kind: Literal["time up"] = "time up"
    timer: str


class Sealed(Event):
    """A figure was given that nobody may see yet; `seal` is the SHA-256 of salt and figure."""

    kind: Literal["sealed"] = "sealed"
    seal: str
    how: How = "phrase"
    by: By = "voice"
    engine: str = ""
    margin: str = ""


class Opened(Event):
    """Both figures are in, or the only one is: the seals are opened together."""

    kind: Literal["opened"] = "opened"
    first: str
    first_salt: str
    second: str | None = None
    second_salt: str | None = None


class Resumed(Event):
    """The program was started again after it stopped without ending the session."""

    kind: Literal["resumed"] = "resumed"


AnyEvent = Annotated[
    Started | Replied | AskedBack | Missed | Silent | TimeUp | Sealed | Opened | Resumed, Field(discriminator="kind")
]
_ADAPTER: TypeAdapter[AnyEvent] = TypeAdapter(AnyEvent)


def from_json(body: object) -> AnyEvent:
    """An event from its JSON value. Raises pydantic's ValidationError (a ValueError) when it is none."""
    return _ADAPTER.validate_python(body)

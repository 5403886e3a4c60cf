"""The ear: sound in, one of the allowed phrases or none out."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, Protocol, runtime_checkable

from companion.ports.sound import Samples

Verdict = Literal["accepted", "unclear", "other", "silence"]
"""accepted: one allowed phrase, surely. unclear: near an allowed phrase, not sure enough: ask again.
other: speech that is none of them (talk in the room): pass by. silence: no speech found."""


@dataclass(frozen=True)
class Expected:
    """What may be said now. Phrases are whole, lower case, words parted by one space."""

    phrases: tuple[str, ...]
    decoys: tuple[str, ...] = ()
    """Near misses that are recognised only to be refused."""
    strict: bool = False
    """True at a critical step: the engine uses its stricter threshold."""
    harmless: frozenset[str] = frozenset()
    """Phrases for which the ordinary threshold does even so: they only take something back, or have something said."""


@dataclass(frozen=True)
class Hearing:
    """What one utterance was taken for."""

    verdict: Verdict
    phrase: str | None
    """One of `Expected.phrases`, never a part of one; None unless accepted."""
    nearest: str | None
    """The phrase or decoy that came closest, whatever the verdict."""
    margin: float
    """The engine's own measure in nats, higher is surer; comparable only within one engine."""
    engine: str
    reason: str
    """Why it was refused, in a few plain words of the language heard; empty when accepted."""
    decide_s: float
    """Seconds from the end of the sound to the decision."""
    probability: float = 0.0
    """Calibrated chance, 0 to 1, that the phrase named was really said."""
    written: str = ""
    """What the engine freely wrote of it, where it can and is sure of the words; empty otherwise, and when accepted."""


class Listening(Protocol):
    """One utterance being heard. Used once; made by `Recogniser.listen`."""

    def feed(self, samples: Samples) -> None:
        """The next samples of the utterance, any number of them."""

    def partial(self) -> str | None:
        """The allowed phrase that the sound so far amounts to, or None. Cheap; may be wrong."""

    def finish(self) -> Hearing:
        """Decide. Called once, after the last `feed`."""


@runtime_checkable
class DecidesAhead(Protocol):
    """A `Listening` that can use a pause: it decides in it, and is ready when the pause proves to be the end."""

    def prepare(self) -> None:
        """Speech has paused. Returns at once; speech that goes on makes what was begun void."""


class Recogniser(Protocol):
    """An engine with its model loaded. Raises HearingError when it cannot work."""

    name: str
    language: str
    """BCP 47 tag of the model, such as `en-US`."""

    def unknown_words(self, phrases: Iterable[str]) -> tuple[str, ...]:
        """Words of `phrases` that the engine cannot hear, each once, in the order met."""

    def listen(self, expected: Expected) -> Listening:
        """Start on a new utterance."""

    def close(self) -> None: ...

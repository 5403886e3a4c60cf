"""An ear that hears what it is told: for tests of what comes after hearing, and for replaying a known session."""

from collections import deque
from collections.abc import Iterable, Mapping

import numpy as np

from companion.errors import HearingError
from companion.ports.recogniser import Expected, Hearing, Listening, Verdict
from companion.ports.sound import Samples
from companion.speech.language import tell

NAME = "scripted"


class ScriptedRecogniser:
    """A `Recogniser` without sound inside it.

    `said` is what the next utterances will have said, one each, `""` for silence; a whole `Hearing` is passed on as it
    is. `sounds` tells what certain samples say (their bytes are the key) and is asked first. What neither knows is talk
    in the room.
    """

    name = NAME

    def __init__(
        self,
        said: Iterable[str | Hearing] = (),
        sounds: Mapping[bytes, str] | None = None,
        language: str = "en-US",
        deaf_to: Iterable[str] = (),
    ) -> None:
        self.language = language
        self.said = deque(said)
        self._sounds = dict(sounds or {})
        self._deaf_to = frozenset(deaf_to)

    def unknown_words(self, phrases: Iterable[str]) -> tuple[str, ...]:
        """Those words of `phrases` that the script said it cannot hear."""
        words = dict.fromkeys(word for phrase in phrases for word in phrase.split())
        return tuple(word for word in words if word in self._deaf_to)

    def listen(self, expected: Expected) -> Listening:
        """Start on an utterance. Raises HearingError when nothing is expected."""
        if not expected.phrases:
            raise HearingError("there is no phrase to listen for; a step needs at least one")
        return _ScriptedListening(self, expected)

    def close(self) -> None:
        """Nothing is held."""

    def _next(self, sound: bytes) -> str | Hearing | None:
        if sound in self._sounds:
            return self._sounds[sound]
        return self.said.popleft() if self.said else None


class _ScriptedListening:
    """One utterance."""

    def __init__(self, recogniser: ScriptedRecogniser, expected: Expected) -> None:
        self._recogniser = recogniser
        self._expected = expected
        self._heard = bytearray()

    def feed(self, samples: Samples) -> None:
        self._heard += np.ascontiguousarray(samples, dtype="<i2").tobytes()

    def partial(self) -> str | None:
        """Always None: a script knows only whole utterances."""
        return None

    def finish(self) -> Hearing:
        said = self._recogniser._next(bytes(self._heard))
        if isinstance(said, Hearing):
            return said
        if said == "" or (said is None and not any(self._heard)):
            return self._answer("silence", None, "no speech")
        if said in self._expected.phrases:
            return self._answer("accepted", said)
        if said in self._expected.decoys:
            return self._answer("unclear", said, "sounded like another")
        return self._answer("other", None, "none of the phrases")

    def _answer(self, verdict: Verdict, nearest: str | None, why: str = "") -> Hearing:
        sure = verdict == "accepted"
        reason = "" if sure else tell(self._recogniser.language, why)
        return Hearing(verdict, nearest if sure else None, nearest, float(sure), NAME, reason, 0.0, float(sure))

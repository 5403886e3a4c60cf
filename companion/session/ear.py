"""From blocks of sound to hearings: one utterance at a time, against what may be said now."""

from companion.hearing.endpoint import Endpointer, SpeechBegan, SpeechEnded, SpeechGoesOn, SpeechPaused
from companion.ports.recogniser import DecidesAhead, Expected, Hearing, Listening, Recogniser
from companion.ports.sound import Samples


class Ear:
    """Joins an endpointer and a recogniser. Deaf until `expect` has been called."""

    def __init__(self, recogniser: Recogniser, endpointer: Endpointer) -> None:
        self._recogniser = recogniser
        self._endpointer = endpointer
        self._expected: Expected | None = None
        self._listening: Listening | None = None

    @property
    def busy(self) -> bool:
        """True while somebody is speaking."""
        return self._listening is not None

    def expect(self, expected: Expected) -> None:
        """What may be said from now on. An utterance under way is dropped: it answered something else."""
        self._expected = expected
        self._drop()

    def deafen(self) -> None:
        """Take nothing until `expect` is called again (the program speaks)."""
        self._expected = None
        self._drop()

    def hear(self, samples: Samples) -> Hearing | None:
        """The next samples; a hearing when an utterance ends in them."""
        expected = self._expected
        if expected is None:
            return None
        hearing = None
        for turn in self._endpointer.feed(samples):
            if isinstance(turn, SpeechBegan):
                self._listening = self._recogniser.listen(expected)
                self._listening.feed(turn.samples)
            elif isinstance(turn, SpeechGoesOn) and self._listening is not None:
                self._listening.feed(turn.samples)
            elif isinstance(turn, SpeechPaused) and isinstance(self._listening, DecidesAhead):
                self._listening.prepare()
            elif isinstance(turn, SpeechEnded) and self._listening is not None:
                hearing = self._listening.finish()
                self._listening = None
        return hearing

    def _drop(self) -> None:
        self._listening = None
        self._endpointer.reset()

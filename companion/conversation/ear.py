"""From blocks of sound to hearings: one utterance at a time, against what may be said now."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from companion.conversation.signs import Spotter
from companion.hearing.endpoint import (
    FOR_PHRASES,
    FOR_VALUES,
    Endpointer,
    SpeechBegan,
    SpeechEnded,
    SpeechGoesOn,
    SpeechPaused,
)
from companion.ports.recogniser import DecidesAhead, Expected, Hearing, Listening, Recogniser
from companion.ports.sound import SAMPLE_RATE, Samples

_AT_ONCE_S = 0.16
"""Speech that is sure so soon after the ear was opened had begun before; that takes some 0.1 s."""

STABLE_S = 0.24
"""A phrase that has held for 200 to 320 ms may be taken before the silence that ends an utterance is over."""


class Ear:
    """Joins an endpointer and a recogniser. Deaf until `expect` has been called."""

    def __init__(
        self,
        recogniser: Recogniser,
        endpointer: Endpointer,
        decoys: Callable[[tuple[str, ...]], tuple[str, ...]] = lambda _: (),
        spotter: Spotter | None = None,
    ) -> None:
        """`decoys` gives near misses of phrases; `spotter` listens while the program speaks."""
        self.recogniser = recogniser
        self._endpointer = endpointer
        self._decoys = decoys
        self.spotter = spotter
        self._expected: Expected | None = None
        self._early: frozenset[str] = frozenset()
        self._listening: Listening | None = None
        self._partial: str | None = None
        self._held = 0
        self._paused = False
        self._sound: list[Samples] = []
        self._open = 0
        self.early = False
        """Whether the last utterance had begun before the ear was opened: its beginning is missing."""

    def close(self) -> None:
        self.recogniser.close()

    @property
    def busy(self) -> bool:
        """True while somebody is speaking."""
        return self._listening is not None

    def utterance(self) -> Samples:
        """The sound of the last utterance that was heard to its end."""
        return np.concatenate([np.zeros(0, np.int16), *self._sound])

    def expect(self, expected: Expected, early: frozenset[str] = frozenset(), patient: bool = False) -> None:
        """What may be said from now on. An utterance under way is dropped: it answered something else.

        `early` are the phrases that may be taken as soon as they have held for a while and speech pauses: no values,
        and none that begins another phrase. `patient` waits longer for the end: half a figure said slowly is another
        figure.
        """
        self._endpointer.settings = FOR_VALUES if patient else FOR_PHRASES
        self._expected = replace(expected, decoys=expected.decoys or self._decoys(expected.phrases))
        self._early = early
        self._open = 0
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
        self._open += samples.size
        for turn in self._endpointer.feed(samples):
            if isinstance(turn, SpeechBegan):
                self._listening = self.recogniser.listen(expected)
                self._listening.feed(turn.samples)
                self._sound = [turn.samples]
                self.early = self._open <= _AT_ONCE_S * SAMPLE_RATE
                self._partial, self._held, self._paused = None, 0, False
            elif self._listening is None:
                continue
            elif isinstance(turn, SpeechGoesOn):
                self._listening.feed(turn.samples)
                self._sound.append(turn.samples)
                self._follow(self._listening, turn)
            elif isinstance(turn, SpeechPaused):
                self._paused = True
                if isinstance(self._listening, DecidesAhead):
                    self._listening.prepare()
            if self._listening is not None and (isinstance(turn, SpeechEnded) or self._taken_early(self._listening)):
                hearing = self._listening.finish()
                self._listening = None
        return hearing

    def _follow(self, listening: Listening, turn: SpeechGoesOn) -> None:
        """How long the same early phrase has held, and whether speech pauses."""
        if turn.voiced:
            self._paused = False
        partial = listening.partial() if self._early else None
        if partial is not None and partial == self._partial:
            self._held += turn.samples.size
        else:
            self._partial, self._held = (partial if partial in self._early else None), 0

    def _taken_early(self, listening: Listening) -> bool:
        """In a pause, a phrase that has held long enough; or one already decided in that very pause."""
        if not self._paused or self._partial is None:
            return False
        return isinstance(listening, DecidesAhead) or self._held >= STABLE_S * SAMPLE_RATE

    def _drop(self) -> None:
        self._listening = None
        self._endpointer.reset()

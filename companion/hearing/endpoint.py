"""Where an utterance begins and ends. All times are counted in samples, so that simulated time works."""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from companion.hearing.noise_floor import NoiseFloor
from companion.hearing.vad import SpeechDetector
from companion.ports.sound import SAMPLE_RATE, Samples


@dataclass(frozen=True)
class SpeechBegan:
    """Someone speaks. `samples` holds the utterance so far and a little before it."""

    samples: Samples


@dataclass(frozen=True)
class SpeechGoesOn:
    """The next samples of the utterance, its silences included."""

    samples: Samples
    voiced: bool
    """False in a silence; True again after `SpeechPaused` makes that pause void."""


@dataclass(frozen=True)
class SpeechPaused:
    """Long enough a silence that the utterance may be over: a decision may be worked out ahead."""


@dataclass(frozen=True)
class SpeechEnded:
    """The utterance is over."""

    duration_ms: int
    """From the first to the last chunk with speech in it."""
    quiet_ms: int
    """Since the last chunk with speech in it: how long ago the speaker fell silent."""
    cut: bool
    """True when it was ended for its length, not by a silence."""


Turn = SpeechBegan | SpeechGoesOn | SpeechPaused | SpeechEnded


@dataclass(frozen=True)
class EndpointSettings:
    """Times in milliseconds, rounded up to whole chunks of the detector."""

    end_silence_ms: int = 384
    """Silence that ends an utterance."""
    pause_ms: int = 160
    """Silence after which `SpeechPaused` is given."""
    start_ms: int = 90
    """Speech that must be there before it counts: coughs and clicks are shorter."""
    pre_roll_ms: int = 300
    """Sound before the first speech that is kept: soft first consonants."""
    longest_ms: int = 8000
    """An utterance is cut here, whatever goes on."""
    start_probability: float = 0.5
    stay_probability: float = 0.35
    """The detector's chance of speech needed to begin, and to go on."""
    above_noise_db: float = 3.0
    """A chunk must be this much louder than the room's noise: talk in the background is speech too, but not ours."""


FOR_PHRASES = EndpointSettings()
"""Short fixed phrases, said in one go: as brisk as the pauses inside them allow."""

FOR_VALUES = EndpointSettings(end_silence_ms=704)
"""Figures and digits: people stop to think between them, and half a figure is a wrong one."""

_REST_CHUNKS = 10
"""After so many quiet chunks the detector rests until it gets louder."""


class Endpointer:
    """Cuts a stream into utterances. Not thread-safe; one stream each."""

    def __init__(self, detector: SpeechDetector, settings: EndpointSettings = FOR_PHRASES) -> None:
        self._detector = detector
        self._floor = NoiseFloor(detector.chunk)
        self._rest: Samples = np.zeros(0, np.int16)
        self._pre_roll: deque[Samples] = deque()
        self._speaking = False
        self._voiced_run = 0
        self._length = 0
        self._last_voiced = 0
        self._quiet_run = 0
        self.settings = settings

    @property
    def settings(self) -> EndpointSettings:
        """May be changed at any time; a running utterance keeps what it has counted so far."""
        return self._settings

    @settings.setter
    def settings(self, settings: EndpointSettings) -> None:
        self._settings = settings
        kept = self._chunks(settings.pre_roll_ms + settings.start_ms)
        self._pre_roll = deque(self._pre_roll, maxlen=kept)

    def reset(self) -> None:
        """What follows does not continue what came before (the microphone was flushed). The room's noise is kept."""
        self._detector.reset()
        self._rest = np.zeros(0, np.int16)
        self._pre_roll.clear()
        self._forget_utterance()

    @property
    def in_speech(self) -> bool:
        """True between `SpeechBegan` and `SpeechEnded`."""
        return self._speaking

    def feed(self, samples: Samples) -> Iterator[Turn]:
        """Take the next samples, any number, and give what they amount to. Consume the iterator."""
        joined = np.concatenate([self._rest, samples])
        size = self._detector.chunk
        whole = joined.size // size * size
        self._rest = joined[whole:]
        for at in range(0, whole, size):
            yield from self._step(joined[at : at + size])

    def _step(self, chunk: Samples) -> Iterator[Turn]:
        voiced = self._voiced(chunk)
        if self._speaking:
            yield from self._go_on(chunk, voiced)
        else:
            yield from self._wait(chunk, voiced)

    def _voiced(self, chunk: Samples) -> bool:
        loud = self._floor.above_db(chunk, self._speaking) >= self._settings.above_noise_db
        if not loud and not self._speaking:
            self._quiet_run += 1
            if self._quiet_run > _REST_CHUNKS:
                # Not asked: the detector is what costs most, and a quiet room is most of a session.
                return False
        elif self._quiet_run > _REST_CHUNKS:
            self._wake()
        if loud:
            self._quiet_run = 0
        needed = self._settings.stay_probability if self._voiced_run else self._settings.start_probability
        return self._detector.probability(chunk) >= needed and loud

    def _wake(self) -> None:
        """Tell a rested detector what came just before: it judges a chunk by what it follows."""
        self._detector.reset()
        for chunk in list(self._pre_roll)[-_REST_CHUNKS:]:
            self._detector.probability(chunk)

    def _wait(self, chunk: Samples, voiced: bool) -> Iterator[Turn]:
        self._pre_roll.append(chunk)
        self._voiced_run = self._voiced_run + 1 if voiced else 0
        if self._voiced_run >= self._chunks(self._settings.start_ms):
            self._speaking = True
            self._length = self._last_voiced = self._voiced_run
            yield SpeechBegan(np.concatenate(self._pre_roll))
            self._pre_roll.clear()

    def _go_on(self, chunk: Samples, voiced: bool) -> Iterator[Turn]:
        self._length += 1
        if voiced:
            self._last_voiced = self._length
        yield SpeechGoesOn(chunk, voiced)
        quiet = self._length - self._last_voiced
        cut = self._length >= self._chunks(self._settings.longest_ms)
        if quiet >= self._chunks(self._settings.end_silence_ms) or cut:
            ended = SpeechEnded(self._ms(self._last_voiced), self._ms(quiet), cut)
            self._forget_utterance()
            yield ended
        elif quiet == self._chunks(self._settings.pause_ms):
            yield SpeechPaused()

    def _forget_utterance(self) -> None:
        self._speaking = False
        self._voiced_run = self._length = self._last_voiced = 0

    def _chunks(self, ms: int) -> int:
        return max(1, -(-ms * SAMPLE_RATE // (1000 * self._detector.chunk)))

    def _ms(self, chunks: int) -> int:
        return chunks * self._detector.chunk * 1000 // SAMPLE_RATE

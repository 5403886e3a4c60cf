"""How far a chunk stands above the room's noise, which is followed all the time."""

from collections import deque

import numpy as np

from companion.ports.sound import SAMPLE_RATE, Samples

_WINDOW_S = 4.0
_QUANTILE = 0.2
_SMOOTH = 3
_FIRST_GUESS_DB = -65.0
_BAND_HZ = (250.0, 5000.0)


class NoiseFloor:
    """The level that the quietest fifth of the last four seconds did not pass.

    A quantile over a few seconds needs no decision about what is speech, so it cannot be locked out by a wrong one
    (the idea of minimum statistics: Martin, IEEE Trans. Speech Audio Process. 9(5), 2001).
    """

    def __init__(self, chunk: int) -> None:
        """`chunk` is the number of samples that each call brings."""
        slots = round(_WINDOW_S * SAMPLE_RATE / chunk)
        self._levels: deque[float] = deque([_FIRST_GUESS_DB] * (slots // 3), maxlen=slots)
        self._powers: deque[float] = deque(maxlen=_SMOOTH)
        self._window = np.hanning(chunk)
        hertz = np.fft.rfftfreq(chunk, 1 / SAMPLE_RATE)
        self._band = (hertz >= _BAND_HZ[0]) & (hertz <= _BAND_HZ[1])

    def above_db(self, chunk: Samples) -> float:
        """Decibels by which the last three chunks together stand above the noise, in the band of speech."""
        spectrum = np.fft.rfft(chunk * (self._window / 32768.0))
        power = float(np.sum(np.abs(spectrum[self._band]) ** 2)) / chunk.size**2
        self._powers.append(power)
        level = 10 * float(np.log10(max(float(np.mean(self._powers)), 1e-12)))
        self._levels.append(level)
        return level - float(np.quantile(self._levels, _QUANTILE))

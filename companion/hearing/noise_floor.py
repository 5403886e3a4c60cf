"""How far the sound stands above the room's noise, which is followed all the time."""

from collections import deque

import numpy as np

from companion.ports.sound import SAMPLE_RATE, Samples

_WINDOW_S = 4.0
_QUIET, _MIDDLE = 0.2, 0.5
_SMOOTH = 4
_RESTLESS, _MOST_RESTLESS_DB = 1.5, 8.0
_FIRST_GUESS_DB = -65.0
_BAND_HZ = (250.0, 5000.0)


class NoiseFloor:
    """The level that the quietest fifth of the last four seconds did not pass, and more in a restless room.

    A quantile over a few seconds needs no decision about what is speech, so it cannot be locked out by a wrong one
    (the idea of minimum statistics: Martin, IEEE Trans. Speech Audio Process. 9(5), 2001). A fan hums at one level;
    voices in the background rise and fall, and must rise further before they count.
    """

    def __init__(self, chunk: int) -> None:
        """`chunk` is the number of samples that each call brings."""
        slots = round(_WINDOW_S * SAMPLE_RATE / chunk)
        self._levels: deque[float] = deque([_FIRST_GUESS_DB] * (slots // 3), maxlen=slots)
        self._powers: deque[float] = deque(maxlen=_SMOOTH)
        self._restless_db = 0.0
        self._window = np.hanning(chunk)
        hertz = np.fft.rfftfreq(chunk, 1 / SAMPLE_RATE)
        self._band = (hertz >= _BAND_HZ[0]) & (hertz <= _BAND_HZ[1])

    def above_db(self, chunk: Samples, someone_speaks: bool) -> float:
        """Decibels by which the last four chunks together stand above the noise, in the band of speech.

        While `someone_speaks` the room is not taken for restless because of it.
        """
        spectrum = np.fft.rfft(chunk * (self._window / 32768.0))
        power = float(np.sum(np.abs(spectrum[self._band]) ** 2)) / chunk.size**2
        self._powers.append(power)
        level = 10 * float(np.log10(max(float(np.mean(self._powers)), 1e-12)))
        self._levels.append(level)
        quiet, middle = np.quantile(self._levels, (_QUIET, _MIDDLE))
        if not someone_speaks:
            self._restless_db = min(_RESTLESS * float(middle - quiet), _MOST_RESTLESS_DB)
        return level - float(quiet) - self._restless_db

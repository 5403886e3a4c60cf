"""Takes the program's own voice out of what the microphone hears, so that a person can be heard over it."""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from companion.ports.sound import SAMPLE_RATE, Samples

_FRAME = SAMPLE_RATE // 100
"""The canceller works on 10 ms at a time."""
_GAP = round(0.3 * SAMPLE_RATE)
"""More reference than this at once means that nobody asked for a while."""
_WATCHED = 15
"""Calls, about a third of a second, over which the reference that nobody needed is watched."""
_SPARE = SAMPLE_RATE // 100
_JUDGED_S, _JUST_NOW_S = 0.8, 0.3
_WORKS = 0.06
"""The share of the power that a canceller which has found its echo leaves of it, or less (-12 dB)."""
_SILENT = 30.0**2
"""Mean square of a reference that nobody would hear."""

_KEPT = 3 * SAMPLE_RATE
"""What was played and what was left of it, for `own_voice`."""
_LATEST = round(0.3 * SAMPLE_RATE)
"""The latest that an echo comes after what was played."""
_OWN = 0.3
"""From this correlation with what was played on, what is left is no person (measured by tests/bench/stopword.py)."""

_NOTHING: Samples = np.zeros(0, np.int16)


@dataclass(frozen=True)
class _Energy:
    """Sums of squares over one stretch of sound."""

    samples: int
    played: float
    heard: float
    left: float


class EchoCanceller:
    """The WebRTC project's canceller (wheel `pywebrtc-audio`), which finds the delay and the room by itself."""

    def __init__(self, reference: Callable[[], Samples]) -> None:
        """`reference` gives what the loudspeaker has played since it was last asked. Raises ImportError."""
        from pywebrtc_audio import EchoCanceller as WebRtcCanceller

        self._reference = reference
        self._canceller = WebRtcCanceller(sample_rate=SAMPLE_RATE)
        self._far = _NOTHING
        self._near = _NOTHING
        self._spare: deque[int] = deque(maxlen=_WATCHED)
        self._past: deque[_Energy] = deque()
        self._played_lately = self._left_lately = _NOTHING

    def clean(self, heard: Samples) -> tuple[Samples, bool]:
        """`heard` without the program's voice, a whole number of 10 ms, and whether this begins a new stretch."""
        played = self._reference()
        began = played.size > _GAP
        if began:
            self._near = _NOTHING
            self._far = played[-heard.size :]
            self._spare.clear()
            self._past.clear()
            self._played_lately = self._left_lately = _NOTHING
        else:
            self._far = np.concatenate([self._far, played])
        self._near = np.concatenate([self._near, heard])
        whole = self._near.size // _FRAME * _FRAME
        missing = max(0, whole - self._far.size)
        far = np.concatenate([self._far[:whole], np.zeros(missing, np.int16)])
        near = self._near[:whole]
        frames = [
            np.asarray(self._canceller.process(near[at : at + _FRAME], far[at : at + _FRAME]), np.int16)
            for at in range(0, whole, _FRAME)
        ]
        left = np.concatenate([_NOTHING, *frames])
        self._near = self._near[whole:]
        self._far = self._far[whole:]
        self._played_lately = np.concatenate([self._played_lately, far])[-_KEPT:]
        self._left_lately = np.concatenate([self._left_lately, left])[-_KEPT:]
        self._hurry()
        self._remember(_Energy(whole, _squares(far), _squares(near), _squares(left)))
        return left, began

    @property
    def works(self) -> bool:
        """False while it still looks for the echo (a prompt has just begun, or sound was lost): its own voice may be
        left then. Judged on what came before the last 0.3 s, in which a person may have begun to speak."""
        samples, before = 0, []
        for energy in reversed(self._past):
            samples += energy.samples
            if samples > _JUST_NOW_S * SAMPLE_RATE:
                before.append(energy)
        total = sum(energy.samples for energy in before)
        if total == 0:
            return False
        if sum(energy.played for energy in before) / total < _SILENT:
            return True
        return sum(energy.left for energy in before) < _WORKS * sum(energy.heard for energy in before)

    def own_voice(self, samples: int, ago: int) -> bool:
        """True where `samples` of what was left, ending `ago` samples before now, are the program's own voice after
        all: sound was lost on its way, and the canceller has to find the echo again. A person's voice does not follow
        what was played."""
        return self.likeness(samples, ago) >= _OWN

    def likeness(self, samples: int, ago: int) -> float:
        """The highest correlation, 0 to 1, of that stretch with what was played from 0.3 s before it to now."""
        end = self._left_lately.size - ago
        left = self._left_lately[max(0, end - samples) : end].astype(np.float64)
        far = np.pad(self._played_lately, (_LATEST, 0))[-(left.size + ago + _LATEST) :].astype(np.float64)
        lags = far.size - left.size + 1
        size = 1 << (far.size + left.size).bit_length()
        match = np.fft.irfft(np.fft.rfft(far, size) * np.conj(np.fft.rfft(left, size)), size)[:lags]
        power = np.concatenate([[0.0], np.cumsum(far * far)])
        under = power[left.size :][:lags] - power[:lags]
        return float(np.max(np.abs(match) / np.sqrt(under * np.sum(left * left) + 1.0)))

    def _hurry(self) -> None:
        """Drop reference that has waited all the while: it must not come later than its echo, which takes only some
        50 ms through the buffers. Blocks come unevenly, so what is needed now and then is left."""
        self._spare.append(self._far.size)
        unneeded = min(self._spare) - _SPARE
        if len(self._spare) == _WATCHED and unneeded > _SPARE:
            self._far = self._far[unneeded:]
            self._spare.clear()

    def _remember(self, energy: _Energy) -> None:
        self._past.append(energy)
        while sum(past.samples for past in self._past) > (_JUDGED_S + _JUST_NOW_S) * SAMPLE_RATE:
            self._past.popleft()


def _squares(sound: Samples) -> float:
    return float(np.sum(np.square(sound.astype(np.float64))))

"""Takes the program's own voice out of what the microphone hears, so that a person can be heard over it."""

from collections.abc import Callable

import numpy as np

from companion.ports.sound import SAMPLE_RATE, Samples

_FRAME = SAMPLE_RATE // 100
"""The canceller works on 10 ms at a time."""
_AHEAD = round(0.06 * SAMPLE_RATE)
"""How much of the reference waits, so that uneven blocks do not leave a gap. Sound takes longer than this from our
stream through the air to the microphone's, so the reference still comes first."""
_GAP = round(0.3 * SAMPLE_RATE)
"""More reference than this at once means that nobody asked for a while."""

_NOTHING: Samples = np.zeros(0, np.int16)


class EchoCanceller:
    """The WebRTC project's canceller (wheel `pywebrtc-audio`), which finds the delay and the room by itself."""

    def __init__(self, reference: Callable[[], Samples]) -> None:
        """`reference` gives what the loudspeaker has played since it was last asked. Raises ImportError."""
        from pywebrtc_audio import EchoCanceller as WebRtcCanceller

        self._reference = reference
        self._canceller = WebRtcCanceller(sample_rate=SAMPLE_RATE)
        self._far = np.zeros(_AHEAD, np.int16)
        self._near = _NOTHING

    def clean(self, heard: Samples) -> tuple[Samples, bool]:
        """`heard` without the program's voice, a whole number of 10 ms, and whether this begins a new stretch."""
        played = self._reference()
        began = played.size > _GAP
        if began:
            self._near = _NOTHING
            self._far = played[-_AHEAD - heard.size :]
        else:
            self._far = np.concatenate([self._far, played])
        self._near = np.concatenate([self._near, heard])
        whole = self._near.size // _FRAME * _FRAME
        missing = max(0, whole - self._far.size)
        far = np.concatenate([self._far[:whole], np.zeros(missing, np.int16)])
        clean = [
            np.asarray(self._canceller.process(self._near[at : at + _FRAME], far[at : at + _FRAME]), np.int16)
            for at in range(0, whole, _FRAME)
        ]
        self._near = self._near[whole:]
        self._far = self._far[whole:]
        return np.concatenate([_NOTHING, *clean]), began

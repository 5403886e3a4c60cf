"""The program's own output stream: it knows when the last sample has left, and falls silent when told."""

import contextlib
from collections import deque
from typing import Any

import numpy as np
import soxr

from companion.errors import VoiceError
from companion.ports.clock import Clock
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.soundcard import close_stream, find_device, load_sounddevice, quiet_stderr
from companion.voice.cache import Sound

_LATENCY_S = 0.1
_SILENT_CALLBACK_MS = 1000
"""A loudspeaker that asks for nothing for this long is gone."""
_FADE_S = 0.005
_KEPT_BLOCKS = 100
"""Blocks of played sound kept for `played`, some two seconds."""


class Playback:
    """One sound on its way out."""

    def __init__(self, loudspeaker: "Loudspeaker", sound: Sound) -> None:
        self._loudspeaker = loudspeaker
        self._sound = sound
        self._at = 0
        self._cut = False
        self._fault: str | None = None
        self._gone_at: float | None = None

    def done(self) -> bool:
        """True once the last sample has left, by the stream's own clock, or there is a fault."""
        if self._cut or self._fault is not None:
            return True
        if self._gone_at is not None and self._loudspeaker.stream_time() >= self._gone_at:
            return True
        self._fault = self._loudspeaker.fault()
        return self._fault is not None

    def stop(self) -> None:
        self._cut = True

    def fault(self) -> str | None:
        return self._fault

    def fill(self, wanted: int, leaves_at: float, rate: int) -> Sound:
        """The next samples, at most `wanted`, for the stream's callback; `leaves_at` is when the first one leaves."""
        if self._cut:
            tail = self._sound[self._at : self._at + min(wanted, round(_FADE_S * rate))]
            self._sound = np.zeros(0, np.float32)
            return tail * np.linspace(1, 0, tail.size, dtype=np.float32)
        part = self._sound[self._at : self._at + wanted]
        self._at += part.size
        if self._at >= self._sound.size:
            self._gone_at = leaves_at + part.size / rate
        return part

    @property
    def over(self) -> bool:
        """True when the callback has nothing more to fetch."""
        return self._gone_at is not None or not self._sound.size


class Loudspeaker:
    """One stream, open for the whole session and silent between sounds; plays one sound at a time."""

    def __init__(self, clock: Clock, device: str | None = None) -> None:
        """Opens `device` (number or part of its name; None: the system's choice). Raises VoiceError."""
        self._clock = clock
        self._playing: Playback | None = None
        self._asked_ms = clock.now_ms()
        self._played: deque[Sound] = deque(maxlen=_KEPT_BLOCKS)
        sounddevice = load_sounddevice(VoiceError)
        chosen = find_device("output", device, VoiceError)
        self.name = chosen.name
        self.rate = chosen.rate
        """Samples per second that `play` expects."""
        self._down = soxr.ResampleStream(self.rate, SAMPLE_RATE, 1, dtype="float32")
        try:
            with quiet_stderr():
                self._stream = sounddevice.OutputStream(
                    device=chosen.index,
                    samplerate=chosen.rate,
                    channels=min(2, chosen.channels),
                    dtype="float32",
                    latency=_LATENCY_S,
                    callback=self._fill,
                )
                self._stream.start()
        except sounddevice.PortAudioError as fault:
            raise VoiceError(f"the loudspeaker {self.name!r} cannot be opened ({fault})") from fault
        self._PortAudioError = sounddevice.PortAudioError

    def play(self, sound: Sound) -> Playback:
        """Begin to play mono `sound`, shape (n,), at `rate`. What was playing is cut."""
        before = self._playing
        if before is not None:
            before.stop()
        self._playing = playback = Playback(self, sound)
        return playback

    def played(self) -> Samples:
        """What went out since this was last asked (at most the last two seconds), silence included; mono, 16 kHz."""
        blocks: list[Sound] = []
        with contextlib.suppress(IndexError):
            while True:
                blocks.append(self._played.popleft())
        sound = np.concatenate([np.zeros(0, np.float32), *blocks])
        ours: Sound = self._down.resample_chunk(sound)
        whole: Samples = np.rint(ours.clip(-1, 1) * 32767).astype(np.int16)
        return whole

    def stream_time(self) -> float:
        """Seconds on the stream's clock; infinitely late once the stream is closed or broken."""
        try:
            return float(self._stream.time)
        except self._PortAudioError:
            return float("inf")

    def fault(self) -> str | None:
        """Why nothing can be heard any more, or None."""
        if self._clock.now_ms() - self._asked_ms <= _SILENT_CALLBACK_MS and self._stream.active:
            return None
        return f"the loudspeaker {self.name!r} has stopped taking sound"

    def close(self) -> None:
        close_stream(self._stream)

    def _fill(self, out: Any, frames: int, time: Any, status: Any) -> None:
        """PortAudio's callback, on its own thread: copy, and nothing else."""
        self._asked_ms = self._clock.now_ms()
        out.fill(0)
        playing = self._playing
        if playing is not None:
            self._copy(playing, out, frames, time)
        self._played.append(out[:, 0].copy())

    def _copy(self, playing: Playback, out: Any, frames: int, time: Any) -> None:
        part = playing.fill(frames, max(time.outputBufferDacTime, time.currentTime), self.rate)
        out[: part.size] = part[:, np.newaxis]
        if playing.over:
            self._playing = None

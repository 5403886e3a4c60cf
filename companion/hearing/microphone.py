"""A real microphone through PortAudio."""

import contextlib
import queue
from dataclasses import dataclass
from typing import Any

import numpy as np
import soxr

from companion.clocks import RealClock
from companion.errors import HearingError
from companion.ports.clock import Clock
from companion.ports.sound import SAMPLE_RATE, Block, Ended, Quiet, Samples
from companion.soundcard import SoundDevice, close_stream, find_device, load_sounddevice, quiet_stderr

_LATENCY_S = 0.05
_KEPT_BLOCKS = 1000
"""Blocks of sound, each some 10 to 50 ms, that may wait to be read; beyond them the newest is dropped, and counted."""
_SILENT_CALLBACK_MS = 1500
"""A device that brings nothing, not even silence, for this long is gone; busy machines stand still for 1 s."""


@dataclass(frozen=True)
class _Captured:
    frames: Samples
    """Shape (n,), at the device's own rate."""
    lost: int
    """Frames dropped just before these."""


class DeviceMicrophone:
    """Captures at the device's own rate and gives 16 kHz mono. Read by one thread."""

    def __init__(self, device: SoundDevice, clock: Clock) -> None:
        """Opens `device` and begins to capture. Raises HearingError."""
        self.name = device.name
        self._clock = clock
        self._rate = device.rate
        self._captured: queue.Queue[_Captured] = queue.Queue(maxsize=_KEPT_BLOCKS)
        self._dropped = 0
        self._resampler = self._new_resampler()
        self._closed = False
        sounddevice = load_sounddevice(HearingError)
        try:
            with quiet_stderr():
                self._stream = sounddevice.InputStream(
                    device=device.index,
                    samplerate=device.rate,
                    channels=1,
                    dtype="int16",
                    latency=_LATENCY_S,
                    callback=self._take,
                )
                self._called_ms = clock.now_ms()
                self._stream.start()
        except sounddevice.PortAudioError as fault:
            raise HearingError(
                f"the microphone {self.name!r} cannot be opened ({fault}); check that no other program holds it "
                "and that access to it is allowed"
            ) from fault

    def read(self, timeout_s: float) -> Block | Quiet | Ended:
        """The next block, or `Quiet` after `timeout_s`; raises HearingError when the device has gone."""
        if self._closed:
            return Ended()
        until_ms = self._clock.now_ms() + round(timeout_s * 1000)
        lost = 0
        while True:
            left_s = max(0.0, (until_ms - self._clock.now_ms()) / 1000)
            try:
                captured = self._captured.get(timeout=left_s) if left_s else self._captured.get_nowait()
            except queue.Empty:
                self._check_alive()
                return Quiet()
            lost += captured.lost
            samples = self._at_our_rate(captured.frames)
            if samples.size:  # the resampler keeps its first few milliseconds to itself
                return Block(samples, lost * SAMPLE_RATE // self._rate)

    def flush(self) -> None:
        with contextlib.suppress(queue.Empty):
            while True:
                self._captured.get_nowait()
        self._resampler = self._new_resampler()

    def close(self) -> None:
        self._closed = True
        close_stream(self._stream)

    def _check_alive(self) -> None:
        if self._clock.now_ms() - self._called_ms > _SILENT_CALLBACK_MS or not self._stream.active:
            raise HearingError(
                f"the microphone {self.name!r} has stopped giving sound, as when it is unplugged; connect it again "
                "and start again, or go on by keyboard"
            )

    def _at_our_rate(self, frames: Samples) -> Samples:
        return frames if self._resampler is None else np.asarray(self._resampler.resample_chunk(frames), np.int16)

    def _new_resampler(self) -> Any:
        return None if self._rate == SAMPLE_RATE else soxr.ResampleStream(self._rate, SAMPLE_RATE, 1, dtype="int16")

    def _take(self, frames: Any, count: int, time: Any, status: Any) -> None:
        """PortAudio's callback, on its own thread: copy, count what was lost, and nothing else."""
        self._called_ms = self._clock.now_ms()
        if status.input_overflow:  # how much is not told; a block is the least
            self._dropped += count
        try:
            self._captured.put_nowait(_Captured(frames[:, 0].copy(), self._dropped))
        except queue.Full:
            self._dropped += count
        else:
            self._dropped = 0


def open_microphone(device: str | None = None, clock: Clock | None = None) -> DeviceMicrophone:
    """The microphone `device`, by number or part of its name; None means the system's choice.

    Raises HearingError, saying what to install, connect or name instead.
    """
    return DeviceMicrophone(find_device("input", device, HearingError), clock or RealClock())

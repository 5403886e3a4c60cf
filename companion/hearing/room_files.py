"""Sound from files and clips, given out as a microphone gives it: in blocks, in order, on a clock."""

from collections import deque
from collections.abc import Iterable
from pathlib import Path

import numpy as np

from companion.clocks import SimulatedClock
from companion.hearing.files import read_sound
from companion.ports.sound import SAMPLE_RATE, Block, Ended, Quiet, Samples

BLOCK = 512
"""Samples in a block: 32 ms, a whole number of milliseconds."""

_BLOCK_MS = 1000 * BLOCK // SAMPLE_RATE


class FileMicrophone:
    """Plays files and clips one after the other, each followed by silence, then is over."""

    def __init__(
        self, sounds: Iterable[Path | Samples], silence_s: float = 1.0, clock: SimulatedClock | None = None
    ) -> None:
        """Reads every file now; raises HearingError for one that cannot be used.

        `silence_s` of digital silence follows each sound. With a `clock`, reading a block lets its time pass.
        """
        pause = np.zeros(round(silence_s * SAMPLE_RATE), np.int16)
        parts: list[Samples] = []
        names: list[str] = []
        for sound in sounds:
            names.append(str(sound) if isinstance(sound, Path) else "clip")
            parts += [read_sound(sound) if isinstance(sound, Path) else sound, pause]
        joined = np.concatenate([np.zeros(0, np.int16), *parts])
        self.name = ", ".join(names)
        self._samples: Samples = np.concatenate([joined, np.zeros(-joined.size % BLOCK, np.int16)])
        self._at = 0
        self._clock = clock

    def read(self, timeout_s: float) -> Block | Quiet | Ended:
        if self._at >= self._samples.size:
            return Ended()
        block = self._samples[self._at : self._at + BLOCK]
        self._at += BLOCK
        if self._clock is not None:
            self._clock.advance(_BLOCK_MS)
        return Block(block)

    def flush(self) -> None:
        """Nothing: a file holds no sound that was captured while the program spoke."""

    def close(self) -> None:
        self._at = self._samples.size


class RoomOfClips:
    """An almost silent room in simulated time, in which clips can be played.

    It behaves as a room does: sound goes by whether anyone reads it or not. Reading a block lets 32 ms
    pass, unless the clock has already run ahead (someone waited): then the blocks of that time are read first,
    and `flush` skips them, with any clip that sounded in them.
    """

    name = "clips in a simulated room"

    def __init__(self, clock: SimulatedClock, noise_dbfs: float = -75.0, seed: int = 1) -> None:
        """`noise_dbfs` is the level of the room's white noise; `seed` makes it the same every time."""
        self._clock = clock
        self._heard_until_ms = clock.now_ms()
        self._waiting: deque[Samples] = deque()
        self._noise = np.random.default_rng(seed)
        self._noise_rms = 32768.0 * 10 ** (noise_dbfs / 20)
        self._closed = False
        self._quiet_since_ms = self._heard_until_ms

    def play(self, samples: Samples, after_ms: int = 0) -> None:
        """Let `samples` sound once all that was played before is over and a further `after_ms` have passed."""
        silence = np.zeros(SAMPLE_RATE * max(0, after_ms) // 1000, np.int16)
        self._waiting.append(np.concatenate([silence, samples]))

    def hush(self) -> None:
        """Take back what has not sounded yet."""
        self._waiting.clear()

    def sounding(self) -> bool:
        """True while a clip is playing or waits to be played."""
        return bool(self._waiting)

    def quiet_ms(self) -> int:
        """For how long no clip has sounded."""
        return 0 if self._waiting else self._heard_until_ms - self._quiet_since_ms

    def read(self, timeout_s: float) -> Block | Quiet | Ended:
        if self._closed:
            return Ended()
        samples = self._next_block()
        self._clock.advance(self._heard_until_ms - self._clock.now_ms())
        return Block(samples)

    def flush(self) -> None:
        while self._heard_until_ms + _BLOCK_MS <= self._clock.now_ms():
            self._next_block()

    def close(self) -> None:
        self._closed = True

    def _next_block(self) -> Samples:
        mixed = self._noise.normal(0, self._noise_rms, BLOCK)
        filled = 0
        while self._waiting and filled < BLOCK:
            clip = self._waiting.popleft()
            taken = clip[: BLOCK - filled]
            mixed[filled : filled + taken.size] += taken
            filled += taken.size
            if taken.size < clip.size:
                self._waiting.appendleft(clip[taken.size :])
        self._heard_until_ms += _BLOCK_MS
        if self._waiting:
            self._quiet_since_ms = self._heard_until_ms
        return np.clip(np.rint(mixed), -32768, 32767).astype(np.int16)

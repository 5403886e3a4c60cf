"""Where sound comes from. Silence, end and fault are three things: `Quiet`, `Ended`, `HearingError`."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

SAMPLE_RATE = 16_000
"""Samples per second of all sound inside the program; sources resample to it."""

Samples = npt.NDArray[np.int16]
"""Mono 16-bit samples at `SAMPLE_RATE`, shape (n,)."""


@dataclass(frozen=True)
class Block:
    """A stretch of sound, in the order it was captured."""

    samples: Samples
    lost: int = 0
    """Samples that were dropped just before this block because nobody fetched them in time."""


@dataclass(frozen=True)
class Quiet:
    """Nothing has arrived within the time allowed; the source is still alive."""


@dataclass(frozen=True)
class Ended:
    """The source has no more sound to give (a file is over)."""


class Microphone(Protocol):
    """A source of sound."""

    name: str

    def read(self, timeout_s: float) -> Block | Quiet | Ended:
        """The next block (any length > 0), or `Quiet` after `timeout_s` seconds.

        Raises HearingError when the device is gone or the file is damaged.
        """

    def flush(self) -> None:
        """Forget what was captured and not yet read (used when the program has just spoken)."""

    def close(self) -> None: ...

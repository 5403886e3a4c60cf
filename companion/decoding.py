"""Sound files unfolded with a bound: a file of a few kilobytes may hold days of silence, or hundreds of channels."""

from collections.abc import Iterator
from typing import Any

import numpy.typing as npt

from companion.errors import HearingError

LONGEST_S = 600
MOST_FRAMES = LONGEST_S * 48_000
"""Ten minutes as most recorders take them; of another rate as many."""

_VALUES = 1 << 22
"""Samples of all channels that are unfolded at once."""


def blocks_of(sound: Any, dtype: str) -> Iterator[npt.NDArray[Any]]:
    """What an open `soundfile.SoundFile` holds, in arrays of shape (frames, channels).

    Raises HearingError as soon as it says, or turns out, to be longer than ten minutes or `MOST_FRAMES`.
    """
    count = sound.frames
    if count / sound.samplerate > LONGEST_S:
        raise HearingError("the sound is longer than ten minutes")
    left = MOST_FRAMES
    while count <= MOST_FRAMES:
        block = sound.read(max(1, _VALUES // sound.channels), dtype=dtype, always_2d=True)
        if not block.shape[0]:
            return
        left -= block.shape[0]
        if left < 0:
            break
        yield block
    raise HearingError(f"the sound has more than {MOST_FRAMES:,} samples a channel")

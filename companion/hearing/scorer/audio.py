"""What is done to an utterance before it is scored, and how noisy it was."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from companion.ports.sound import SAMPLE_RATE, Samples

_FRAME = SAMPLE_RATE // 50
_KEEP = SAMPLE_RATE // 10
"""Sound kept before and after what stands out of the noise: soft beginnings and endings lie there."""
_BEFORE, _AFTER = SAMPLE_RATE // 5, SAMPLE_RATE // 2
"""Silence put around it: without it the model repeats itself on one clip in fifteen of half a second (measured)."""
_ABOVE_DB = 6.0
_QUIETEST_DB = -65.0
_NOISY_DB = 30.0
_PEAK = 0.5


@dataclass(frozen=True)
class Utterance:
    """Sound ready for the encoder."""

    sound: npt.NDArray[np.float32]
    """Mono, 16 kHz, the loudest sample at half of full scale."""
    empty: bool
    """Nothing stands out of the noise."""


def frame_levels(samples: Samples) -> npt.NDArray[np.float32]:
    """Level of each 20 ms in dB below full scale, shape (n // 320,)."""
    whole = samples.size // _FRAME
    frames = samples[: whole * _FRAME].reshape(whole, _FRAME).astype(np.float32) / 32768
    frames = frames - frames.mean(axis=1, keepdims=True)
    return np.asarray(10 * np.log10((frames * frames).mean(axis=1) + 1e-10), np.float32)


def prepare(samples: Samples) -> Utterance:
    """Cut away the noise at both ends and set the level."""
    levels = frame_levels(samples)
    if levels.size == 0:
        return Utterance(np.zeros(0, np.float32), True)
    quiet, loud = float(np.percentile(levels, 10)), float(np.percentile(levels, 95))
    least = max(quiet + _ABOVE_DB, loud - 35, _QUIETEST_DB)
    if loud - quiet < _NOISY_DB:
        # Voices in the background rise above their own quiet, and words would be made of what they say before and after
        # the phrase (measured at 10 dB: one miss in three). In a quiet room this would cut off soft endings.
        least = max(least, (quiet + loud) / 2)
    over = np.flatnonzero(np.convolve(np.pad(levels, 1, mode="edge"), np.full(3, 1 / 3), "valid") > least)
    # Without any quiet in it, the whole sound may be speech: it is then kept as it is.
    if loud - quiet < _ABOVE_DB + 4 and loud > _QUIETEST_DB:
        over = np.arange(levels.size)
    if over.size == 0:
        return Utterance(np.zeros(0, np.float32), True)
    first, last = int(over[0]) * _FRAME, (int(over[-1]) + 1) * _FRAME
    cut = samples[max(0, first - _KEEP) : last + _KEEP].astype(np.float32) / 32768
    cut = cut - cut.mean()
    cut *= _PEAK / max(float(np.abs(cut).max()), 1e-4)
    return Utterance(np.pad(cut, (_BEFORE, _AFTER)), False)

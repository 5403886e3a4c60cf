"""The short soft tones that stand where a sentence would be too much."""

import numpy as np

from companion.ports.voice import Sign
from companion.voice.cache import Sound

_LOUDEST = 0.06
"""About -24 dB of full scale: under the voice, and not to be taken for an alarm."""
_FADE_S = 0.03
_NOTES: dict[Sign, tuple[tuple[float, float], ...]] = {
    "not taken": ((330.0, 0.16),),
    "too early": ((494.0, 0.08), (494.0, 0.08)),
}
"""Hertz and seconds of each note: one low one, or two short ones that are higher. No step down or up, and far below the
pitches and repetitions of alarms (IEC 60601-1-8; from memory, verify)."""
_REST_S = 0.06


def tone(sign: Sign, rate: int) -> Sound:
    """The sound of `sign`, mono, shape (n,), at `rate` samples a second; it begins and ends in silence."""
    rest = np.zeros(round(_REST_S * rate), np.float32)
    parts: list[Sound] = []
    for hertz, seconds in _NOTES[sign]:
        time = np.arange(round(seconds * rate)) / rate
        fade = np.clip(np.minimum(time, seconds - time) / _FADE_S, 0, 1)
        note = _LOUDEST * np.sin(2 * np.pi * hertz * time) * np.sin(0.5 * np.pi * fade) ** 2
        parts += [note.astype(np.float32), rest]
    return np.concatenate(parts[:-1])

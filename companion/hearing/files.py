"""Sound files in: any format, rate and depth that libsndfile reads, as mono at 16 kHz."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile
import soxr

from companion.decoding import MOST_FRAMES, blocks_of
from companion.errors import HearingError
from companion.plainfiles import opened
from companion.ports.sound import SAMPLE_RATE, Samples

LARGEST = 512 * 1024 * 1024
"""Bytes; ten minutes in two channels of 32 bits come to half of it."""

_ACCEPTED = (
    "accepted: WAV, FLAC, OGG or MP3, any number of channels, at most ten minutes and "
    f"{MOST_FRAMES:,} samples a channel"
)
_HEADERLESS = {"samplerate": SAMPLE_RATE, "channels": 1, "subtype": "PCM_16", "format": "RAW"}
"""A file `.raw` does not say what it holds; this is what recognisers' test data are made of."""


def read_sound(path: Path) -> Samples:
    """The file's sound, channels averaged, resampled to 16 kHz. A `.raw` is taken as 16 bit, mono, 16 kHz.

    Raises HearingError for a file that is missing, empty, damaged, without samples, or longer than ten minutes.
    """
    try:
        with opened(path, LARGEST, links=True) as file:
            if not file.read(1):
                raise HearingError(f"{path}: the file is empty; {_ACCEPTED}")
            file.seek(0)
            headerless = path.suffix.lower() == ".raw"
            with soundfile.SoundFile(file, **(_HEADERLESS if headerless else {})) as sound:
                rate = sound.samplerate
                blocks = [block.mean(axis=1) for block in _blocks(path, sound)]
    except soundfile.LibsndfileError as fault:
        reason = fault.error_string.strip().rstrip(".")
        raise HearingError(f"{path}: cannot be read as sound ({reason}); {_ACCEPTED}") from fault
    except FileNotFoundError as fault:
        raise HearingError(f"{path}: there is no such file") from fault
    except OSError as fault:
        raise HearingError(f"{path}: cannot be read ({fault.strerror or fault})") from fault
    if not blocks:
        raise HearingError(f"{path}: there are no samples in it; {_ACCEPTED}")
    mono = np.concatenate(blocks)
    if not np.isfinite(mono).all():
        raise HearingError(f"{path}: the sound holds values that are no numbers; {_ACCEPTED}")
    if rate != SAMPLE_RATE:
        mono = soxr.resample(mono, rate, SAMPLE_RATE)
    return np.asarray(np.clip(np.rint(mono * 32768), -32768, 32767), np.int16)


def _blocks(path: Path, sound: Any) -> Iterator[npt.NDArray[np.float32]]:
    try:
        yield from blocks_of(sound, "float32")
    except HearingError as fault:
        raise HearingError(f"{path}: {fault}; {_ACCEPTED}") from fault

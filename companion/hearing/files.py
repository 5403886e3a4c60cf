"""Sound files in: any format, rate and depth that libsndfile reads, as mono at 16 kHz."""

from pathlib import Path

import numpy as np
import soundfile
import soxr

from companion.errors import HearingError
from companion.ports.sound import SAMPLE_RATE, Samples

LONGEST_S = 600
_ACCEPTED = "accepted: WAV, FLAC, OGG or MP3, any rate and number of channels, at most ten minutes"
_HEADERLESS = {"samplerate": SAMPLE_RATE, "channels": 1, "subtype": "PCM_16", "format": "RAW"}
"""A file `.raw` does not say what it holds; this is what recognisers' test data are made of."""


def read_sound(path: Path) -> Samples:
    """The file's sound, channels averaged, resampled to 16 kHz. A `.raw` is taken as 16 bit, mono, 16 kHz.

    Raises HearingError for a file that is missing, empty, damaged, without samples, or longer than ten minutes.
    """
    try:
        if not path.is_file():
            raise HearingError(f"{path}: there is no such file")
        if path.stat().st_size == 0:
            raise HearingError(f"{path}: the file is empty; {_ACCEPTED}")
        headerless = path.suffix.lower() == ".raw"
        with soundfile.SoundFile(path, **(_HEADERLESS if headerless else {})) as sound:
            seconds = sound.frames / sound.samplerate
            if seconds > LONGEST_S:
                raise HearingError(f"{path}: the sound is longer than ten minutes; {_ACCEPTED}")
            rate = sound.samplerate
            data = sound.read(dtype="float32", always_2d=True)
    except soundfile.LibsndfileError as fault:
        reason = fault.error_string.strip().rstrip(".")
        raise HearingError(f"{path}: cannot be read as sound ({reason}); {_ACCEPTED}") from fault
    except OSError as fault:
        raise HearingError(f"{path}: cannot be read ({fault.strerror or fault})") from fault
    if data.shape[0] == 0:
        raise HearingError(f"{path}: there are no samples in it; {_ACCEPTED}")
    if not np.isfinite(data).all():
        raise HearingError(f"{path}: the sound holds values that are no numbers; {_ACCEPTED}")
    mono = data.mean(axis=1)
    if rate != SAMPLE_RATE:
        mono = soxr.resample(mono, rate, SAMPLE_RATE)
    return np.asarray(np.clip(np.rint(mono * 32768), -32768, 32767), np.int16)

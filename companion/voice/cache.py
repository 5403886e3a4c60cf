"""Prompts already rendered, kept as WAV files so that each is made once."""

import hashlib
import json
import os
from pathlib import Path

import numpy as np
import numpy.typing as npt
import platformdirs
import soundfile

from companion.errors import VoiceError

LIMIT_BYTES = 64 * 1024 * 1024
"""About 25 minutes of speech at 22 kHz; the files not used for longest go first."""

_MAKING = 1
"""Changed whenever the same text would be made into other sound, so that old files are not used."""

_SILENCE = 0.001
_MARGIN_S = 0.02

Sound = npt.NDArray[np.float32]
"""Mono samples between -1 and 1, shape (n,), at a rate that stands beside it."""


def cache_folder() -> Path:
    """`COMPANION_CACHE` when it is set, else the system's place for caches."""
    chosen = os.environ.get("COMPANION_CACHE")
    base = Path(chosen).expanduser() if chosen else platformdirs.user_cache_path("procedure-companion", appauthor=False)
    return base / "speech"


class SpeechCache:
    """A folder of WAV files that only its owner can read, and that does not grow past `limit_bytes`."""

    def __init__(self, folder: Path, limit_bytes: int = LIMIT_BYTES) -> None:
        """Makes `folder`. Raises OSError when that cannot be done."""
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        folder.chmod(0o700)
        self._folder = folder
        self._limit_bytes = limit_bytes

    def path(self, voice: str, rate: int, text: str) -> Path:
        """Where `text` belongs when said by `voice` at `rate` words a minute."""
        key = json.dumps([_MAKING, voice, rate, text], ensure_ascii=False).encode()
        return self._folder / f"{hashlib.sha256(key).hexdigest()[:32]}.wav"

    def load(self, path: Path) -> tuple[Sound, int] | None:
        """The sound at `path` and its rate in hertz, or None when it is not there or damaged."""
        try:
            sound, rate = read_mono(path)
            os.utime(path)
        except (VoiceError, OSError):
            return None
        return sound, rate

    def take_in(self, made: Path, path: Path) -> tuple[Sound, int]:
        """Move the file `made`, fresh from an engine, to `path` as a 16-bit WAV file, and give its sound.

        Raises VoiceError when the engine's file is damaged or holds no sound. A full disk only means no caching.
        """
        sound, rate = read_mono(made)
        sound = _trimmed(sound, rate)
        try:
            part = made.with_suffix(".part")
            soundfile.write(part, sound, rate, subtype="PCM_16", format="WAV")
            part.chmod(0o600)
            part.replace(path)
            self._make_room(path)
        except (OSError, soundfile.LibsndfileError):
            path.unlink(missing_ok=True)
        return sound, rate

    def _make_room(self, newest: Path) -> None:
        kept = [(entry.stat().st_mtime_ns, entry.stat().st_size, entry) for entry in self._folder.glob("*.wav")]
        total = sum(size for _, size, _ in kept)
        for _, size, entry in sorted(kept, key=lambda item: item[0]):
            if total <= self._limit_bytes:
                return
            if entry != newest:
                entry.unlink(missing_ok=True)
                total -= size


def _trimmed(sound: Sound, rate: int) -> Sound:
    """Without the silence that engines put at both ends: it would only keep the performer waiting."""
    loud = np.flatnonzero(np.abs(sound) > _SILENCE)
    kept = round(_MARGIN_S * rate)
    return sound[max(0, loud[0] - kept) : loud[-1] + kept] if loud.size else sound


def read_mono(path: Path) -> tuple[Sound, int]:
    """The sound of a file in any format that libsndfile knows (macOS engines write AIFF). Raises VoiceError."""
    try:
        sound, rate = soundfile.read(path, dtype="float32", always_2d=True)
    except (OSError, soundfile.LibsndfileError) as fault:
        raise VoiceError(f"the voice wrote a sound file that cannot be read ({fault})") from fault
    if not sound.any():
        raise VoiceError("the voice wrote a file without any sound in it")
    return np.ascontiguousarray(sound[:, 0]), int(rate)

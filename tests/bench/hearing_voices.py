"""Speech for the hearing benchmark: flite's voices, each said once and kept."""

import hashlib
import shutil
import subprocess
import tempfile
from pathlib import Path

from companion.hearing.files import read_sound
from companion.ports.sound import Samples

VOICES = ("slt", "rms", "awb", "kal16")
_KEPT = Path(tempfile.gettempdir()) / "companion-bench-speech"


def say(text: str, voice: str, pitch: int | None = None, stretch: float = 1.0) -> Samples:
    """`text` in one of `VOICES`; `pitch` in hertz and `stretch` (1.2 is slower) make further voices of the same ones.

    Raises RuntimeError when flite is not installed.
    """
    flite = shutil.which("flite")
    if flite is None:
        raise RuntimeError("flite is not installed: apt install flite")
    key = hashlib.sha256(f"{text}|{voice}|{pitch}|{stretch}".encode()).hexdigest()[:24]
    path = _KEPT / f"{key}.wav"
    if not path.is_file():
        _KEPT.mkdir(exist_ok=True)
        sets = ["--setf", f"duration_stretch={stretch}"]
        if pitch is not None:
            sets += ["--setf", f"int_f0_target_mean={pitch}"]
        draft = path.with_suffix(".part.wav")
        subprocess.run([flite, "-voice", voice, *sets, "-t", text, "-o", str(draft)], check=True, capture_output=True)
        draft.replace(path)
    return read_sound(path)


def eight_talkers(sentences: list[str]) -> list[Samples]:
    """Eight different voices, each with its share of `sentences` one after the other."""
    import numpy as np

    kinds = [("slt", 180, 1.0), ("slt", 220, 0.9), ("rms", 95, 1.0), ("rms", 130, 1.1)]
    kinds += [("awb", 110, 1.0), ("awb", 150, 0.9), ("kal16", 100, 1.0), ("kal16", 140, 1.1)]
    return [
        np.concatenate([say(text, voice, pitch, stretch) for text in sentences[i::8]])
        for i, (voice, pitch, stretch) in enumerate(kinds)
    ]

"""Speech made while the tests run, with Debian's flite and espeak-ng."""

import functools
import shutil
import subprocess
import tempfile
from pathlib import Path

import numpy as np

from companion.hearing.files import read_sound
from companion.ports.sound import SAMPLE_RATE, Samples
from tests.realparts import need

VOICES = ("slt", "rms", "awb", "kal16")
_AROUND_S = 0.25


@functools.cache
def flite(text: str, voice: str = "slt") -> Samples:
    """`text` spoken by one of flite's `VOICES`, with a little silence around it."""
    need(shutil.which("flite") is not None, "English test speech: apt install flite")
    return _spoken(["flite", "-voice", voice, "-t", text, "-o"])


@functools.cache
def korean(text: str) -> Samples:
    """`text` spoken by espeak-ng's Korean voice."""
    need(shutil.which("espeak-ng") is not None, "Korean test speech: apt install espeak-ng")
    return _spoken(["espeak-ng", "-v", "ko", "-s", "130", text, "-w"])


def _spoken(command: list[str]) -> Samples:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "speech.wav"
        subprocess.run([*command, str(path)], check=True, capture_output=True)
        sound = read_sound(path)
    around = np.random.default_rng(len(sound)).normal(0, 4, int(_AROUND_S * SAMPLE_RATE)).astype(np.int16)
    return np.concatenate([around, sound, around])

"""Makes the sound files of the demo from its scenario: each line spoken by flite, kept as FLAC (16 kHz, mono).

Run from the top of the checkout, with flite installed: `python demo/make_sounds.py`, or with the folder of another
scenario. The voices are flite's own
(slt, rms, awb, kal16); a mumbled line is half drowned in noise shaped like speech, so that it cannot be understood.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import soundfile

from companion.hearing.files import read_sound
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.session.scenario import Line, load_scenario

MUMBLE_DB = 4.0
"""Speech this far over the noise."""


def spoken(line: Line) -> Samples:
    """The line in its voice."""
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "line.wav"
        subprocess.run(["flite", "-voice", line.voice, "-t", line.text, "-o", str(wav)], check=True)
        return read_sound(wav)


def mumbled(speech: Samples) -> Samples:
    """The same under noise with the spectrum of the speech itself."""
    rng = np.random.default_rng(7)
    spectrum = np.abs(np.fft.rfft(speech.astype(np.float64)))
    noise = np.fft.irfft(spectrum * np.exp(2j * np.pi * rng.random(spectrum.size)), speech.size)
    gain = 10 ** (MUMBLE_DB / 20)
    mixed = speech * gain + noise / np.std(noise) * np.std(speech.astype(np.float64))
    return np.clip(np.rint(mixed * 0.7), -32768, 32767).astype(np.int16)


def make(folder: Path) -> None:
    """The sounds of the scenario in `folder`."""
    sounds = folder / "sounds"
    sounds.mkdir(exist_ok=True)
    wanted = {line.file_name(): line for line in load_scenario(folder / "scenario.yaml").lines()}
    for old in sounds.glob("*.flac"):
        if old.name not in wanted:
            old.unlink()
    for name, line in sorted(wanted.items()):
        speech = spoken(line)
        soundfile.write(sounds / name, mumbled(speech) if line.noise else speech, SAMPLE_RATE, subtype="PCM_16")
    total = sum(path.stat().st_size for path in sounds.glob("*.flac"))
    print(f"{len(wanted)} files, {total // 1000} kB in {sounds}", file=sys.stderr)


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)

"""Makes the sound files of the demo from its scenario: each line spoken by flite, kept as FLAC (16 kHz, mono).

Run from the top of the checkout, with flite installed: `python demo/make_sounds.py`. The voices are flite's own
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

HERE = Path(__file__).parent
SOUNDS = HERE / "sounds"
MUMBLE_DB = 9.0
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


def main() -> None:
    SOUNDS.mkdir(exist_ok=True)
    wanted = {line.file_name(): line for line in load_scenario(HERE / "scenario.yaml").lines()}
    for old in SOUNDS.glob("*.flac"):
        if old.name not in wanted:
            old.unlink()
    for name, line in sorted(wanted.items()):
        speech = spoken(line)
        soundfile.write(SOUNDS / name, mumbled(speech) if line.noise else speech, SAMPLE_RATE, subtype="PCM_16")
    total = sum(path.stat().st_size for path in SOUNDS.glob("*.flac"))
    print(f"{len(wanted)} files, {total // 1000} kB in {SOUNDS}", file=sys.stderr)


if __name__ == "__main__":
    main()

"""Makes the sound files of the demo from its scenario: each line spoken by flite, kept as FLAC (16 kHz, mono).

Run from the top of the checkout, with flite installed: `python demo/make_sounds.py`, or with the folder of another
scenario. The voices are flite's own (slt, rms, awb, kal16).
"""

import subprocess
import sys
import tempfile
from pathlib import Path

import soundfile

from companion.conversation.scenario import Line, load_scenario
from companion.hearing.files import read_sound
from companion.ports.sound import SAMPLE_RATE, Samples


def spoken(line: Line) -> Samples:
    """The line in its voice."""
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "line.wav"
        subprocess.run(["flite", "-voice", line.voice, "-t", line.text, "-o", str(wav)], check=True)
        return read_sound(wav)


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
        soundfile.write(sounds / name, speech, SAMPLE_RATE, subtype="PCM_16")
    total = sum(path.stat().st_size for path in sounds.glob("*.flac"))
    print(f"{len(wanted)} files, {total // 1000} kB in {sounds}", file=sys.stderr)


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)

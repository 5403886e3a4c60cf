"""The speech process: which voice it takes, and that it really speaks."""

import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from companion.errors import VoiceError
from companion.voice import child
from companion.voice.cache import read_mono
from companion.voice.process import SpeechProcess
from tests.realparts import need

VOICES: list[tuple[str, list[str | bytes]]] = [
    ("caribbean", ["en-029"]),
    ("british", ["en-gb"]),
    ("american", ["en-us"]),
    ("korean", ["ko"]),
    ("windows", ["de-DE"]),
    ("mac", ["fr_CA"]),
    ("old", [b"\x05es"]),
]


@pytest.mark.parametrize(
    ("language", "voice"),
    [
        ("en-US", "american"),
        ("en_us", "american"),
        ("en-GB", "british"),
        ("en", "caribbean"),
        ("en-AU", "caribbean"),
        ("ko-KR", "korean"),
        ("ko", "korean"),
        ("de", "windows"),
        ("fr-CA", "mac"),
        ("es-MX", "old"),
        ("kok", None),
        ("ja-JP", None),
    ],
)
def test_the_voice_is_chosen_by_language(language: str, voice: str | None) -> None:
    tags = [(name, [child.plain_tag(tag) for tag in languages]) for name, languages in VOICES]
    assert child.choose_voice(language, tags) == voice


@pytest.fixture
def process() -> Iterator[SpeechProcess]:
    need(shutil.which("espeak-ng") is not None, "no voice: sudo apt-get install espeak-ng")
    process = SpeechProcess("en-US", 165)
    yield process
    process.close()


def _spoken_s(path: Path) -> float:
    """From the first sound to the last, in seconds: pyttsx3 2.99 leaves out the last block, which is silence."""
    sound, rate = read_mono(path)
    loud = np.nonzero(np.abs(sound) > 0.02 * np.abs(sound).max())[0]
    return float(loud[-1] - loud[0]) / rate


def test_one_prompt_after_another_each_in_its_own_file(process: SpeechProcess, tmp_path: Path) -> None:
    """pyttsx3 2.99 speaks only the last of several, writes over earlier files, and returns before a file is whole."""
    texts = ["Wash your hands.", "Take two steps back, then tell me what the label of the vial says.", "Done."] * 4
    lengths = []
    for number, text in enumerate(texts):
        path = tmp_path / f"{number}.wav"
        process.render(text, path, limit_s=5)
        lengths.append(_spoken_s(path))
    assert lengths == pytest.approx(lengths[:3] * 4, rel=0.1), "espeak-ng varies a little from time to time"
    assert lengths[2] < lengths[0] < lengths[1]


def test_more_words_a_minute_are_over_sooner(tmp_path: Path) -> None:
    need(shutil.which("espeak-ng") is not None, "no voice: sudo apt-get install espeak-ng")
    lengths = []
    for rate in (120, 240):
        process = SpeechProcess("en-US", rate)
        process.render("Draw up the dose, hold it to the light, and read the scale.", tmp_path / "made.wav", limit_s=5)
        process.close()
        lengths.append(read_mono(tmp_path / "made.wav")[0].size)
    assert lengths[0] > 1.4 * lengths[1]


def test_two_languages_do_not_sound_the_same(tmp_path: Path) -> None:
    need(shutil.which("espeak-ng") is not None, "no voice: sudo apt-get install espeak-ng")
    sounds = []
    for language in ("en-US", "ko-KR"):
        process = SpeechProcess(language, 165)
        process.render("1, 2, 3", tmp_path / "made.wav", limit_s=5)
        process.close()
        sounds.append(read_mono(tmp_path / "made.wav")[0])
    assert sounds[0].size != sounds[1].size or not np.allclose(sounds[0], sounds[1])


def test_a_language_that_no_voice_speaks_is_named() -> None:
    need(shutil.which("espeak-ng") is not None, "no voice: sudo apt-get install espeak-ng")
    with pytest.raises(VoiceError, match=r"none of the installed voices speaks tlh.*install one with"):
        SpeechProcess("tlh", 165)


def test_no_speech_engine_gives_the_line_that_installs_it(tmp_path: Path) -> None:
    """The real driver, made to find no library: it fails as it does on a machine without one."""
    hide = tmp_path / "without.py"
    hide.write_text(
        "import ctypes, runpy, sys\n"
        "real = ctypes.CDLL.__init__\n"
        "def refuse(self, name, *a, **k):\n"
        "    if name and 'espeak' in str(name): raise OSError('no such library')\n"
        "    real(self, name, *a, **k)\n"
        "ctypes.CDLL.__init__ = refuse\n"
        "sys.argv = ['child', 'en-US', '165']\n"
        f"runpy.run_path({child.__file__!r}, run_name='__main__')\n"
    )
    done = subprocess.run([sys.executable, str(hide)], input="", capture_output=True, text=True, check=False)
    assert '"ready": false, "missing": "engine"' in done.stdout

"""Human recordings that Debian packages carry, with their transcripts. None of them is kept in this project.

- `pocketsphinx-testdata` (BSD-2): five card-game commands, one command to a robot, five read sentences. Never used
  for fitting.
- `asterisk-core-sounds-en` and `-en-wav` (CC BY-SA 3.0): one professional speaker, telephone band, several hundred
  short prompts. Half of the clips (by a hash of their name) is for fitting, the other half for reporting.
"""

import gzip
import re
import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from companion.hearing.files import read_sound
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.speech.speakable import words_of

_PROMPTS = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
_PROMPT_TEXTS = Path("/usr/share/doc/asterisk-core-sounds-en/core-sounds-en.txt.gz")
_TEST_DATA = Path("/usr/share/pocketsphinx/test/data")
_LONGEST_S = 8


@dataclass(frozen=True)
class Spoken:
    """A recording and what is said in it, in whole lower-case words."""

    path: Path
    text: str

    def sound(self) -> Samples:
        return np.fromfile(self.path, np.int16) if self.path.suffix == ".raw" else read_sound(self.path)

    @property
    def for_fitting(self) -> bool:
        return zlib.crc32(self.path.name.encode()) % 2 == 0


def prompts() -> list[Spoken]:
    """The prompts of at most eight seconds whose text is words; none when the packages are not installed."""
    if not _PROMPT_TEXTS.is_file() or not _PROMPTS.is_dir():
        return []
    found: list[Spoken] = []
    with gzip.open(_PROMPT_TEXTS, "rt", encoding="utf-8") as lines:
        for line in lines:
            match = re.match(r"([\w/-]+): *([^\[(<].*)", line.strip())
            if not match or match[1].startswith("letters/"):
                continue
            path = _PROMPTS / f"{match[1]}.wav"
            text = words_of(re.sub(r"\[.*?\]|\(.*?\)|<.*?>", "", match[2]))
            if text and path.is_file() and path.stat().st_size < _LONGEST_S * SAMPLE_RATE:
                found.append(Spoken(path, text))
    return found


def test_data() -> list[Spoken]:
    """The recordings of pocketsphinx-testdata."""
    if not _TEST_DATA.is_dir():
        return []
    cards = ("ten of clubs", "four queen of clubs", "seven of clubs", "five five")
    found = [Spoken(_TEST_DATA / "cards" / f"{i:03}.wav", text) for i, text in enumerate(cards, start=1)]
    found.append(Spoken(_TEST_DATA / "cards" / "005.wav", "eight of spades four of clubs seven of hearts"))
    found.append(Spoken(_TEST_DATA / "goforward.raw", "go forward ten meters"))
    for line in (_TEST_DATA / "librivox" / "transcription").read_text(encoding="ascii").splitlines():
        if match := re.match(r"<s> (.*) </s> \((.*)\)", line):
            found.append(Spoken(_TEST_DATA / "librivox" / f"{match[2]}.wav", match[1]))
    return found

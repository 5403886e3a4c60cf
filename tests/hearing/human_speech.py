"""Human recordings of Debian's package pocketsphinx-testdata (BSD-2), with what is said in them."""

import functools
from dataclasses import dataclass
from pathlib import Path

from companion.hearing.files import read_sound
from companion.ports.sound import Samples
from tests.realparts import need

FOLDER = Path("/usr/share/pocketsphinx/test/data")

CARDS = {
    "001": "ten of clubs",
    "002": "four queen of clubs",
    "003": "seven of clubs",
    "004": "five five",
    "005": "eight of spades four of clubs seven of hearts",
}
"""From cards/cards.transcription of the same package."""


@dataclass(frozen=True)
class Recording:
    """One human utterance and its words."""

    samples: Samples
    text: str


def _sound(name: str) -> Samples:
    need(FOLDER.is_dir(), "human recordings: apt install pocketsphinx-testdata")
    return read_sound(FOLDER / name)


@functools.cache
def cards() -> tuple[Recording, ...]:
    return tuple(Recording(_sound(f"cards/{name}.wav"), text) for name, text in CARDS.items())


def go_forward() -> Recording:
    """goforward.gram gives the sentence."""
    return Recording(_sound("goforward.raw"), "go forward ten meters")


def digits() -> Recording:
    """The file's name gives the digits: 2, 9, 3, 4, z (zero), after the naming of the TIDIGITS corpus."""
    return Recording(_sound("tidigits/dhd.2934z.raw"), "two nine three four zero")


@functools.cache
def read_sentences() -> tuple[Recording, ...]:
    """Five sentences of a novel read aloud; librivox/transcription gives the words."""
    need(FOLDER.is_dir(), "human recordings: apt install pocketsphinx-testdata")
    found = []
    for line in (FOLDER / "librivox/transcription").read_text().splitlines():
        words, _, name = line.partition(" </s> (")
        found.append(Recording(_sound(f"librivox/{name.rstrip(')')}.wav"), words.removeprefix("<s> ")))
    return tuple(found)


def other_talk() -> tuple[Samples, ...]:
    """Two more recordings, of other speakers, without a transcript in the package."""
    return (_sound("numbers.raw"), _sound("something.raw"))

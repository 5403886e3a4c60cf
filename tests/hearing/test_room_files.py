"""Files and clips given out as a microphone gives sound."""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.clocks import SimulatedClock
from companion.errors import HearingError
from companion.hearing.level import rms_dbfs
from companion.hearing.room_files import BLOCK, FileMicrophone, RoomOfClips
from companion.ports.sound import SAMPLE_RATE, Block, Ended, Microphone, Samples

BLOCK_MS = 32
CLIP = np.full(BLOCK * 3 + 100, 8000, np.int16)


def clock() -> SimulatedClock:
    return SimulatedClock(datetime(2030, 3, 4, tzinfo=UTC))


def blocks(microphone: Microphone, count: int) -> Samples:
    """The next `count` blocks."""
    sounds = [microphone.read(0.1) for _ in range(count)]
    assert all(isinstance(sound, Block) for sound in sounds)
    return np.concatenate([sound.samples for sound in sounds if isinstance(sound, Block)])


@pytest.mark.parametrize("suffix", ["wav", "flac"])
def test_a_file_comes_in_whole_blocks_then_silence_then_the_end(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"clip.{suffix}"
    soundfile.write(path, CLIP, SAMPLE_RATE)
    microphone = FileMicrophone([path, CLIP], silence_s=0.1)
    sounds = []
    while isinstance(sound := microphone.read(0.1), Block):
        assert sound.samples.shape == (BLOCK,)
        sounds.append(sound.samples)
    assert sound == Ended()
    heard = np.concatenate(sounds)
    silence = np.zeros(1600, np.int16)
    expected = np.concatenate([CLIP, silence, CLIP, silence])
    assert np.array_equal(heard[: expected.size], expected)
    assert not heard[expected.size :].any()
    assert heard.size - expected.size < BLOCK
    assert microphone.name == f"{path}, clip"


def test_reading_a_file_lets_its_time_pass() -> None:
    now = clock()
    microphone = FileMicrophone([CLIP], silence_s=0, clock=now)
    blocks(microphone, 2)
    assert now.now_ms() == 2 * BLOCK_MS


def test_a_file_that_is_not_there_is_an_error_at_once(tmp_path: Path) -> None:
    with pytest.raises(HearingError, match=r"nowhere\.wav"):
        FileMicrophone([tmp_path / "nowhere.wav"])


def test_a_room_is_quiet_but_not_dead_and_moves_the_clock() -> None:
    now = clock()
    room = RoomOfClips(now)
    heard = blocks(room, 50)
    assert now.now_ms() == 50 * BLOCK_MS
    assert rms_dbfs(heard) == pytest.approx(-75, abs=0.5)


def test_the_same_room_twice_is_the_same_sound() -> None:
    assert np.array_equal(blocks(RoomOfClips(clock()), 20), blocks(RoomOfClips(clock()), 20))


def test_clips_sound_one_after_another_with_their_pauses() -> None:
    room = RoomOfClips(clock())
    room.play(CLIP)
    room.play(CLIP, after_ms=100)
    assert room.sounding()
    heard = np.abs(blocks(room, 12)) > 4000
    assert not room.sounding()
    begins = np.flatnonzero(np.diff(heard.astype(int)) == 1) + 1
    assert heard[0]
    assert heard.sum() == 2 * CLIP.size
    assert begins.tolist() == [CLIP.size + 1600]


def test_time_that_passed_elsewhere_is_read_afterwards_without_moving_the_clock() -> None:
    """As with a real microphone: what sounded while nobody read is still there."""
    now = clock()
    room = RoomOfClips(now)
    room.play(CLIP)
    now.wait_ms(10 * BLOCK_MS)
    heard = blocks(room, 10)
    assert now.now_ms() == 10 * BLOCK_MS
    assert (np.abs(heard) > 4000).sum() == CLIP.size
    blocks(room, 1)
    assert now.now_ms() == 11 * BLOCK_MS


def test_flush_forgets_what_sounded_while_nobody_read() -> None:
    now = clock()
    room = RoomOfClips(now)
    room.play(CLIP)
    now.wait_ms(10 * BLOCK_MS)
    room.flush()
    assert not room.sounding()
    assert np.abs(blocks(room, 5)).max() < 4000


def test_flush_leaves_what_has_not_sounded_yet() -> None:
    room = RoomOfClips(clock())
    room.play(CLIP)
    room.flush()
    assert (np.abs(blocks(room, 5)) > 4000).sum() == CLIP.size


def test_a_closed_room_has_ended() -> None:
    room = RoomOfClips(clock())
    room.close()
    assert room.read(0.1) == Ended()

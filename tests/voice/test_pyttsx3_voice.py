"""The whole voice in a sound room: real speech engine, process and loudspeaker; and what happens when one dies."""

import os
import shutil
import signal
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from companion.clocks import RealClock
from companion.voice.best import echo_reference, open_voice
from companion.voice.pyttsx3_voice import Pyttsx3Voice
from companion.voice.text_voice import TextVoice
from tests.realparts import need
from tests.soundroom import SoundRoom, sound_room
from tests.waiting import until

PROMPT = "Rub your hands until they are dry."
PROMISED_S = 3.0
"""A voice that hangs or dies is replaced by text within this."""


@pytest.fixture
def room() -> Iterator[SoundRoom]:
    with sound_room() as room, room.entered():
        yield room


@pytest.fixture
def voice(room: SoundRoom, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Pyttsx3Voice]:  # noqa: ARG001 - stands in the room
    need(shutil.which("espeak-ng") is not None, "no voice: sudo apt-get install espeak-ng")
    monkeypatch.setenv("COMPANION_CACHE", str(tmp_path / "cache"))
    voice, missing = open_voice("en-US", RealClock())
    assert missing == []
    assert isinstance(voice, Pyttsx3Voice)
    yield voice
    voice.close()


def pid(voice: Pyttsx3Voice) -> int:
    process = voice.pid
    assert process is not None
    return process


def test_a_prompt_is_heard_in_the_room(room: SoundRoom, voice: Pyttsx3Voice) -> None:
    with room.recording() as chunks:
        speaking = voice.start(PROMPT)
        until(speaking.done, 10)
    assert speaking.fault() is None
    assert np.abs(chunks[0]).max() > 3000
    assert (np.abs(chunks[0]) > 300).mean() > 0.2


def test_the_second_time_it_comes_from_the_cache_without_the_process(voice: Pyttsx3Voice, tmp_path: Path) -> None:
    until(voice.start(PROMPT).done, 10)
    assert len(list((tmp_path / "cache" / "speech").glob("*.wav"))) == 1
    os.kill(pid(voice), signal.SIGSTOP)
    speaking = voice.start(PROMPT)
    until(speaking.done, 10)
    assert speaking.fault() is None


def test_units_are_spoken_in_words(voice: Pyttsx3Voice, tmp_path: Path) -> None:
    """`10 mL` and `ten milliliters` are the same speech, hence one file."""
    until(voice.start("Draw 10 mL.").done, 10)
    until(voice.start("Draw ten milliliters.").done, 10)
    assert len(list((tmp_path / "cache" / "speech").glob("*.wav"))) == 1


def test_stop_ends_a_prompt_before_and_while_it_sounds(voice: Pyttsx3Voice) -> None:
    early = voice.start("This one is stopped before it was even rendered.")
    early.stop()
    assert early.done()
    late = voice.start("This one is stopped while it is being said, and it is long enough for that to be certain.")
    until(lambda: np.abs(voice.played()).max(initial=0) > 1000, 5)
    late.stop()
    assert late.done()
    assert (early.fault(), late.fault()) == (None, None)


def test_a_voice_that_hangs_becomes_text_and_is_started_again(voice: Pyttsx3Voice) -> None:
    hung = pid(voice)
    os.kill(hung, signal.SIGSTOP)
    speaking = voice.start(PROMPT)
    until(speaking.done, PROMISED_S)
    fault = speaking.fault()
    assert fault is not None
    assert "did not answer" in fault
    assert "this prompt is on the screen only" in fault
    again = voice.start("Now it speaks once more.")
    until(again.done, 10)
    assert again.fault() is None
    assert voice.pid not in (None, hung)


def test_a_voice_that_is_killed_twice_leaves_text(voice: Pyttsx3Voice) -> None:
    os.kill(pid(voice), signal.SIGKILL)
    first = voice.start("The first prompt after it died.")
    until(first.done, PROMISED_S)
    assert "has stopped working" in (first.fault() or "")
    until(voice.start("It was started again.").done, 10)
    os.kill(pid(voice), signal.SIGKILL)
    second = voice.start("The second prompt after it died.")
    until(second.done, PROMISED_S)
    until(lambda: "on the screen only from now on" in (voice.start("Only text.").fault() or ""), 5)
    last = voice.start("From now on there is only text.")
    until(last.done, 10)
    assert voice.pid is None


def test_a_loudspeaker_that_goes_becomes_text(room: SoundRoom, voice: Pyttsx3Voice) -> None:
    speaking = voice.start("This is said when the loudspeaker is unplugged, somewhere in the middle of the sentence.")
    until(lambda: np.abs(voice.played()).max(initial=0) > 1000, 5)
    room.break_down()
    until(speaking.done, PROMISED_S)
    assert "has stopped taking sound" in (speaking.fault() or "")
    until(lambda: voice.start("Another prompt.").fault() is not None, 5)


def test_nothing_to_say_is_done_soon(voice: Pyttsx3Voice) -> None:
    until(voice.start(" ... ").done, 2)


def test_text_alone_when_it_is_asked_for() -> None:
    voice, missing = open_voice("en-US", RealClock(), aloud=False)
    assert isinstance(voice, TextVoice)
    assert missing == []
    assert echo_reference(voice) is None


@pytest.mark.usefixtures("room")
def test_everything_missing_is_listed_and_text_serves() -> None:
    """A language that no voice speaks and a loudspeaker that is not there: two sentences, no exception."""
    need(shutil.which("espeak-ng") is not None, "no voice: sudo apt-get install espeak-ng")
    voice, missing = open_voice("tlh", RealClock(), device="kitchen radio")
    assert isinstance(voice, TextVoice)
    assert ["tlh" in line for line in missing] == [True, False]
    assert all(line.endswith("prompts are on the screen only") for line in missing)

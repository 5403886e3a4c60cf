"""A whole session through real sound: PortAudio, PulseAudio, the real voice and the real recogniser in one room."""

import json
from collections.abc import Mapping
from pathlib import Path
from queue import Empty, SimpleQueue

import numpy as np
import pytest

from companion.ports.sound import SAMPLE_RATE, Samples
from tests.conversation.aloud import REPLIES, answer, guide, lines_of, listens, need_voices
from tests.hearing.synthetic_speech import flite
from tests.soundroom import sound_room


def events(home: Path) -> list[Mapping[str, object]]:
    """The events in the only record."""
    (path,) = (home / "records").glob("*.jsonl")
    entries = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [entry["body"]["event"] for entry in entries if entry["kind"] == "event"]


def test_a_session_through_the_air_ends_signed(tmp_path: Path) -> None:
    need_voices()
    with sound_room() as room, guide(room, tmp_path) as process:
        shown = answer(room, process, lambda line: REPLIES.get(line[2:]))
    said = [event for event in events(tmp_path) if event["kind"] == "replied"]
    assert all(event.get("by", "voice") == "voice" and event["engine"] == "pocketsphinx" for event in said)
    assert "Outcome: signed" in shown


def test_the_programs_own_prompts_confirm_nothing(tmp_path: Path) -> None:
    """Half duplex: it says every acceptable reply aloud into the room it listens in, and nothing is taken."""
    need_voices()
    with sound_room() as room, guide(room, tmp_path, "--performer", "41") as process:
        lines = lines_of(process)
        turns = 0
        with room.recording() as heard:
            while turns < 6:
                try:
                    line = lines.get(timeout=40)
                except Empty:
                    break
                assert line is not None, "the session ended by itself"
                assert "not taken" not in line, "its own voice is nobody who came too early"
                if listens(line):
                    turns += 1
                    if turns in (1, 2, 3):
                        assert process.stdin is not None
                        process.stdin.write("help\n")  # typed; the answer says what can be said, aloud
                        process.stdin.flush()
                elif "tray is complete" in line:
                    assert "You can say" in line
        assert abs(heard[0]).max() > 1000, "the prompts were really in the room"
    taken = [event for event in events(tmp_path) if event["kind"] == "replied"]
    assert [event["phrase"] for event in taken] == ["help"] * 3


def test_what_is_none_of_the_phrases_is_followed_by_a_soft_tone_and_then_by_the_phrases(tmp_path: Path) -> None:
    """By voice alone a newcomer had heard nothing for 20 s after each of 37 refusals."""
    need_voices()
    words = flite("the weather turned cold last night", "slt")
    with sound_room() as room, guide(room, tmp_path, "--performer", "41") as process:
        lines = lines_of(process)
        shown = until_listening(lines)
        with room.recording() as heard:
            room.play(words)
            first = until_listening(lines)
        room.play(words)
        second = until_listening(lines)
    assert "    - not taken: it was none of the phrases" in first
    assert not any("You can say" in line for line in first), "the tone alone"
    after = sounding_after(heard[0], words)
    spectrum = np.abs(np.fft.rfft(after * np.hanning(after.size)))
    assert np.fft.rfftfreq(after.size, 1 / SAMPLE_RATE)[spectrum.argmax()] == pytest.approx(330, abs=8)
    assert np.abs(after).max() < np.abs(words).max() / 4, "soft"
    assert any("You can say" in line and "tray is complete" in line for line in second)
    assert [event["why"] for event in events(tmp_path) if event["kind"] == "missed"] == ["other", "other"]
    assert not any("You can say" in line for line in shown)
    assert shown[-1].startswith("    (listening) [tray is complete | "), "what can be said is listed, the answer first"


def until_listening(lines: "SimpleQueue[str | None]") -> list[str]:
    """The lines up to the next one that says it is the performer's turn."""
    found: list[str] = []
    while not found or not listens(found[-1]):
        line = lines.get(timeout=60)
        assert line is not None, found
        found.append(line)
    return found


def sounding_after(heard: Samples, words: Samples) -> Samples:
    """The 0.12 s from where it sounds again, after `words` have been said and it was silent."""
    spoken, loud = (np.flatnonzero(np.abs(sound.astype(np.int32)) > 300) for sound in (words, heard))
    ended = loud[0] + spoken[-1] - spoken[0] + round(0.1 * SAMPLE_RATE)
    again = int(loud[loud > ended][0])
    return heard[again : again + round(0.12 * SAMPLE_RATE)]

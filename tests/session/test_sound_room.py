"""A whole session through real sound: PortAudio, PulseAudio, the real voice and the real recogniser in one room."""

import json
from collections.abc import Mapping
from pathlib import Path
from queue import Empty

from tests.session.aloud import REPLIES, answer, guide, lines_of, need_voices
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
                if line.strip() == "(listening)":
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

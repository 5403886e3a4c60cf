"""A whole session through real sound: PortAudio, PulseAudio, the real voice and the real recogniser in one room."""

import json
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from queue import Empty, SimpleQueue

from tests.hearing.synthetic_speech import flite
from tests.realparts import need
from tests.soundroom import SoundRoom, sound_room

SHORT = Path(__file__).parent.parent / "data" / "short.yaml"
REPLIES = {
    "Performer, your staff tag, digit by digit.": "four one",
    "Heard: tag 41. Right or wrong?": "exactly right",
    "Lay everything out, then tell me.": "tray is complete",
    "2 seconds have passed. Are they dry?": "hands are dry",
    "First the name.": "name matches",
    "Now the day of birth.": "birth date matches",
    "How much is ordered?": "eighteen units",
    "Heard: 18 units. Right or wrong?": "exactly right",
    "Sign with your tag.": "four one",
}


@contextmanager
def guide(room: SoundRoom, home: Path, *options: str) -> Iterator["subprocess.Popen[str]"]:
    """`companion guide` on the short drill, in the room."""
    env = {**room.env, "COMPANION_HOME": str(home), "COMPANION_CACHE": str(home / "cache")}
    command = [sys.executable, "-m", "companion", "guide", str(SHORT), "--engine", "pocketsphinx", *options]
    process = subprocess.Popen(
        command, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def lines_of(process: "subprocess.Popen[str]") -> SimpleQueue[str | None]:
    """Its lines as they come; None at the end."""
    lines: SimpleQueue[str | None] = SimpleQueue()

    def read() -> None:
        assert process.stdout is not None
        for line in process.stdout:
            lines.put(line.rstrip("\n"))
        lines.put(None)

    threading.Thread(target=read, daemon=True).start()
    return lines


def events(home: Path) -> list[Mapping[str, object]]:
    """The events in the only record."""
    (path,) = (home / "records").glob("*.jsonl")
    entries = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [entry["body"]["event"] for entry in entries if entry["kind"] == "event"]


def _parts() -> None:
    need(shutil.which("flite") is not None, "no flite: sudo apt-get install flite")
    need(shutil.which("espeak-ng") is not None, "no voice: sudo apt-get install espeak-ng")


def test_a_session_through_the_air_ends_signed(tmp_path: Path) -> None:
    _parts()
    with sound_room() as room, guide(room, tmp_path) as process:
        lines = lines_of(process)
        shown: list[str] = []
        prompt, tries = "", 0
        while True:
            try:
                line = lines.get(timeout=60)
            except Empty:
                raise AssertionError("nothing for a minute after:\n" + "\n".join(shown)) from None
            if line is None:
                break
            shown.append(line)
            text = line[2:]
            if text in REPLIES:
                prompt, tries = text, 0
            elif line.strip() == "(listening)" and prompt and tries < 6:
                tries += 1
                room.play(flite(REPLIES[prompt], "slt"))
        assert process.wait(timeout=20) == 0, "\n".join(shown)
    said = [event for event in events(tmp_path) if event["kind"] == "replied"]
    assert all(event.get("by", "voice") == "voice" and event["engine"] == "pocketsphinx" for event in said)
    assert "Outcome: signed" in shown


def test_the_programs_own_prompts_confirm_nothing(tmp_path: Path) -> None:
    """Half duplex: it says every acceptable reply aloud into the room it listens in, and nothing is taken."""
    _parts()
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

"""Talking with `companion guide` in a room where real sound is played and heard."""

import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from queue import Empty, SimpleQueue

from tests.hearing.synthetic_speech import flite
from tests.realparts import need
from tests.soundroom import SoundRoom

SHORT = Path(__file__).parent.parent / "data" / "short.yaml"
REPLIES = {
    # A "stop" that nobody said, heard in the program's own voice (`tests.bench.stopword` counts them), only holds.
    "Held. Nothing counts until you go on. Say: go on; or: end the session.": "go on",
    "Performer, your staff tag: two digits, one by one.": "four one",
    "Heard: tag 41. Yes or no?": "exactly right",
    "Lay everything out, then tell me.": "tray is complete",
    "2 seconds have passed. Are they dry?": "hands are dry",
    "First the name.": "name matches",
    "Now the day of birth.": "birth date matches",
    "How much is ordered?": "eighteen units",
    "Heard: 18 units. Yes or no?": "exactly right",
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


def listens(line: str) -> bool:
    """Whether a line says that it is the performer's turn."""
    return line.strip().startswith("(listening")


def need_voices() -> None:
    need(shutil.which("flite") is not None, "no flite: sudo apt-get install flite")
    need(shutil.which("espeak-ng") is not None, "no voice: sudo apt-get install espeak-ng")


def answer(room: SoundRoom, process: "subprocess.Popen[str]", reply_to: Callable[[str], str | None]) -> list[str]:
    """Say aloud into the room what `reply_to` answers to a line, up to six times, until the program ends well."""
    lines = lines_of(process)
    shown: list[str] = []
    reply, tries = "", 0
    while True:
        try:
            line = lines.get(timeout=60)
        except Empty:
            raise AssertionError("nothing for a minute after:\n" + "\n".join(shown)) from None
        if line is None:
            break
        shown.append(line)
        if said := reply_to(line):
            reply, tries = said, 0
        elif listens(line) and reply and tries < 6:
            tries += 1
            room.play(flite(reply, "slt"))
    assert process.wait(timeout=20) == 0, "\n".join(shown)
    return shown

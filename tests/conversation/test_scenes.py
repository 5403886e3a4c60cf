"""The demo and its like: a whole session by the real recogniser, killed at random, resumed and replayed."""

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from companion.procedure.due import is_due
from companion.record.reader import read_record
from companion.review.timeline import timeline
from tests.commands import companion
from tests.demo_session import DemoSession

SCENE = Path(__file__).parent.parent / "data" / "scene"
KILLS = 10


def records(home: Path) -> list[Path]:
    return sorted((home / "records").glob("*.jsonl"))


def test_the_demo_leaves_a_record_that_replays_every_step_by_voice(demo_made: DemoSession) -> None:
    path = demo_made.record
    assert demo_made.said.splitlines()[-1].endswith(str(path))
    told = timeline(read_record(path))
    assert told.state.status == "finished"
    due = {step.id for step in told.procedure.steps if is_due(told.procedure, told.state.values, step)}
    assert due <= {step.step for step in told.confirmed}
    assert {step.id for step in told.procedure.steps} - due == {"mix"}, "a clear kind is not mixed"
    for step in told.confirmed:
        assert (step.by, step.engine) == ("voice", "pocketsphinx"), step.title
        assert step.phrases
    heard = [moment.heard for moment in told.moments]
    assert any(text.startswith("not taken") for text in heard), "a misheard reply"
    assert '"pause"' in heard and '"resume"' in heard
    assert "figures opened: 18 and 81" in heard and "figures opened: 18 and 18" in heard
    assert "Stopper open too long." in demo_made.said
    assert heard.count('"stopper is wiped"') == 2, "too late, so wiped once more"
    replayed = companion("replay", str(path), home=demo_made.home)
    assert replayed.returncode == 0
    assert "intact" in replayed.stdout and f"{len(told.confirmed)} steps confirmed" in replayed.stdout


@pytest.mark.parametrize("seed", range(KILLS))
def test_killed_at_a_random_moment_it_is_resumed_and_nothing_acknowledged_is_missing(tmp_path: Path, seed: int) -> None:
    env = {**os.environ, "COMPANION_HOME": str(tmp_path)}
    command = [sys.executable, "-u", "-m", "companion", "demo", "--scenario", str(SCENE)]
    with subprocess.Popen(command, env=env, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        shown = []
        lines = random.Random(seed).randint(6, 26)
        for line in process.stdout:
            shown.append(line.rstrip("\n"))
            if len(shown) == lines:
                break
        time.sleep(random.Random(seed + 100).random() * 0.2)  # anywhere between two lines, not only after one
        process.send_signal(signal.SIGKILL)
    (path,) = records(tmp_path)
    before = read_record(path)
    said = [say["text"] for entry in before.entries if entry.kind == "event" for say in entry.body["says"]]
    for line in shown:
        text = line[2:]
        if line[:2] in ("  ", "? ") and not text.startswith("  ") and text:
            assert text in said, f"{text!r} was spoken and is not in the record"
    resumed = companion("resume", str(path), home=tmp_path)
    assert resumed.returncode == 0, resumed.stdout + resumed.stderr
    after = read_record(path)
    assert after.closed
    assert [entry.line() for entry in after.entries[: len(before.entries)]] == [
        entry.line() for entry in before.entries
    ]
    assert timeline(after).state.status == "finished"


def test_a_finished_record_is_not_resumed(tmp_path: Path) -> None:
    assert companion("demo", "--scenario", str(SCENE), home=tmp_path).returncode == 0
    again = companion("resume", str(records(tmp_path)[0]), home=tmp_path)
    assert again.returncode == 1
    assert again.stderr.count("\n") == 1 and "closed" in again.stderr


def test_without_sound_and_voice_the_keyboard_serves(tmp_path: Path) -> None:
    """As on a machine without PortAudio, where the package sounddevice cannot be imported: no microphone, no
    loudspeaker. Prompts are shown, replies typed, and what is missing is said with the line that installs it."""
    bare = tmp_path / "bare"
    bare.mkdir()
    (bare / "sounddevice.py").write_text('raise OSError("PortAudio library not found")\n', encoding="utf-8")
    env = {**os.environ, "COMPANION_HOME": str(tmp_path), "PYTHONPATH": str(bare)}
    command = [sys.executable, "-m", "companion", "guide", str(SCENE.parent / "short.yaml"), "--performer", "41"]
    replies = "tray is complete\n{rub}name matches\nbirth date matches\n18 units\nexactly right\n41\n"
    with subprocess.Popen(command, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdin is not None and process.stdout is not None
        first, rest = replies.split("{rub}")
        process.stdin.write(first)
        process.stdin.flush()
        shown = []
        for line in process.stdout:
            shown.append(line.rstrip("\n"))
            if "seconds have passed" in line:
                process.stdin.write("hands are dry\n" + rest)
                process.stdin.flush()
    assert process.returncode == 0, "\n".join(shown)
    assert "Outcome: signed" in shown
    missing = [line for line in shown if line.startswith("*")]
    if sys.platform == "linux":
        without_engine = [line for line in missing if "sudo apt-get install espeak-ng" in line]
        assert len(without_engine) == (0 if shutil.which("espeak-ng") else 1), "no engine is said where there is none"
        without_sound = [line for line in missing if "sudo apt-get install libportaudio2" in line]
        assert len(without_sound) == 2, "one line for the microphone, one for the loudspeaker"
        without_reader = [line for line in missing if "companion models fetch meanings" in line]
        assert len(without_reader) == 1, "that phrases alone count is said once"
        assert len(missing) == len(without_engine) + len(without_sound) + len(without_reader)


def test_an_entry_that_cannot_have_happened_is_reported(tmp_path: Path) -> None:
    """A record of another program version, or a forged one: its chain may hold and its story still not."""
    assert companion("demo", "--scenario", str(SCENE), home=tmp_path).returncode == 0
    path = records(tmp_path)[0]
    lines = path.read_text(encoding="utf-8").splitlines()
    entry = json.loads(lines[3])
    entry["body"]["status"] = "finished"
    lines[3] = json.dumps(entry, separators=(",", ":"), sort_keys=True)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    replayed = companion("replay", str(path), home=tmp_path)
    assert replayed.returncode == 1
    assert "line" in replayed.stderr and "Traceback" not in replayed.stderr

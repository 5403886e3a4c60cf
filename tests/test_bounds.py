"""Small inputs that once took gigabytes or minutes, or were told as a fault of the program: one sentence each now."""

import io
import os
import socket
import subprocess
import sys
import tarfile
import threading
import time
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pyrage
import pytest
import soundfile

from companion.cli.console import StdinKeys
from companion.clocks import SimulatedClock
from companion.conversation.room import LONGEST_TYPED
from companion.conversation.scenario import Players, Scenario, load_scenario
from companion.errors import HearingError, ModelError, RecordError, UsageError
from companion.exports import lrs
from companion.exports.lrs import Store
from companion.hearing.files import read_sound
from companion.machine.machine import Machine
from companion.meaning.ideas import remarks
from companion.models.catalogue import find
from companion.models.unpack import unpack
from companion.ports.sound import Ended
from companion.procedure.loading import load
from companion.record import parcel
from companion.rehearsal.script import PATIENCE_MS, ScriptedRoom
from companion.session.state import State
from tests.conversation.rig import DRILL


@pytest.mark.parametrize("channels", [1, 8])
def test_a_sound_file_is_unfolded_only_so_far(tmp_path: Path, channels: int) -> None:
    """Silence packs to almost nothing in FLAC (RFC 9639, 9.2.3: a constant subframe), whatever the rate it names."""
    path, frames = tmp_path / "long.flac", 2**25
    with soundfile.SoundFile(path, "w", 192_000, channels, "PCM_16", format="FLAC") as sound:
        for _ in range(frames // 2**20):
            sound.write(np.zeros((2**20, channels), np.int16))
    assert path.stat().st_size < 2_000_000
    with pytest.raises(HearingError, match="more than 28,800,000 samples"):
        read_sound(path)


@pytest.mark.parametrize("kind", ["link", "hard link", "pipe", "device", "sparse"])
def test_what_is_no_plain_file_in_a_parcel_is_refused(tmp_path: Path, kind: str) -> None:
    """The kinds of member of POSIX.1-2001 pax, and GNU's files with holes, which name a size they do not have."""
    member = tarfile.TarInfo("sound/0001.flac")
    kinds = {"link": tarfile.SYMTYPE, "hard link": tarfile.LNKTYPE, "pipe": tarfile.FIFOTYPE, "device": tarfile.CHRTYPE}
    member.type = kinds.get(kind, tarfile.REGTYPE)
    member.linkname = "/etc/passwd" if "link" in kind else ""
    if kind == "sparse":
        member.pax_headers = {"GNU.sparse.map": "0,0", "GNU.sparse.size": str(7 << 30)}
    held = io.BytesIO()
    with tarfile.open(fileobj=held, mode="w", format=tarfile.PAX_FORMAT) as archive:
        archive.addfile(tarfile.TarInfo("record.jsonl"), io.BytesIO())
        archive.addfile(member)
    public = pyrage.x25519.Recipient.from_str(parcel.new_identity(tmp_path / "key.txt"))
    (tmp_path / "one.age").write_bytes(pyrage.encrypt(held.getvalue(), [public]))
    with pytest.raises(RecordError, match=r"holds `sound/0001\.flac`, which is neither"):
        parcel.unpack(tmp_path / "one.age", tmp_path / "key.txt", tmp_path / "out.jsonl")
    assert not (tmp_path / "out.jsonl").exists()


def test_an_encrypted_archive_of_a_model_is_refused(tmp_path: Path) -> None:
    """Bit 0 of the general purpose flag says so (APPNOTE.TXT 4.4.4)."""
    model = find("reader")
    with zipfile.ZipFile(tmp_path / "model.zip", "w") as made:
        made.writestr(f"{model.source.folder}{next(iter(model.files))}", b"x")
    data = bytearray((tmp_path / "model.zip").read_bytes())
    data[6] |= 1
    data[data.index(b"PK\x01\x02") + 8] |= 1
    (tmp_path / "model.zip").write_bytes(data)
    with pytest.raises(ModelError, match="encrypted"):
        unpack(tmp_path / "model.zip", model, tmp_path / "out")


@pytest.mark.parametrize(
    "start", ["2030-99-99", "[" * 4000, "9" * 10_000, "2030-01-01T00:00:00+99:99", "!!python/x:y 1"]
)
def test_a_scenario_with_what_cannot_be_read_is_one_sentence(tmp_path: Path, start: str) -> None:
    (tmp_path / "scenario.yaml").write_text(f"start: {start}\n", encoding="utf-8")
    with pytest.raises(UsageError, match=r"scenario\.yaml: ") as told:
        load_scenario(tmp_path / "scenario.yaml")
    assert "\n" not in str(told.value)


def test_a_scenario_in_which_nobody_speaks_ends() -> None:
    silent = {"at": "new", "lines": [{"text": "", "voice": "slt"}]}
    about = {"scenario": "s", "about": "a", "procedure": "drill", "start": "2030-01-01T00:00:00Z"}
    players = Players(Scenario.model_validate({**about, "cues": [silent]}), Machine(load(DRILL).procedure))
    with pytest.raises(UsageError, match="nobody says anything more"):
        for _ in range(1000):
            players.next(State())


def test_a_script_ends_when_its_lines_do() -> None:
    """Also where the last line is not "that is all", and where a line was not heard."""
    left, clock = [2], SimulatedClock(datetime(2030, 1, 1, tzinfo=UTC))

    def go_on() -> bool:
        left[0] -= 1
        if left[0] >= 0:
            room.play(np.zeros(1600, np.int16))
        return left[0] >= 0

    room = ScriptedRoom(clock, go_on)
    while not isinstance(room.read(0.02), Ended):
        assert clock.now_ms() < 10 * PATIENCE_MS
    assert left == [-1] and clock.now_ms() > 3 * PATIENCE_MS


def test_ten_thousand_ideas_are_compared() -> None:
    """Each pair once was, which took minutes. What comparing every pair finds is found: the words they share."""
    made = load(DRILL).procedure
    steps = tuple(
        step.model_copy(update={"ideas": (*(f"word{n}x{number} hand" for number in range(2000)), "shared words")})
        for n, step in enumerate(made.steps)
    )
    found = [each for each in remarks(made.model_copy(update={"steps": steps})) if "may be taken" in each.message]
    assert len(steps) >= 5 and len(found) == len(steps) * (len(steps) - 1) // 2
    assert all("`shared words`" in each.message for each in found)


def test_a_typed_line_is_taken_only_so_far(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    reading, writing = os.pipe()
    with os.fdopen(reading, encoding="utf-8") as source:
        monkeypatch.setattr(sys, "stdin", source)
        keys = StdinKeys()
        with os.fdopen(writing, "wb") as typed:
            typed.write(b"a" * 1_000_000 + b"\n" + b"b" * LONGEST_TYPED + b"\n")
        got: list[str] = []
        while not keys.ended:
            got += keys.poll()
            time.sleep(0.005)
    assert got == ["b" * LONGEST_TYPED]
    said = capsys.readouterr().out
    assert said == f"* Not taken: that line is too long; accepted: up to {LONGEST_TYPED} characters\n"


@pytest.fixture
def answering() -> Iterator[tuple[str, list[bytes]]]:
    """A server that answers whatever it is asked with the pieces in a list, the last of them again and again."""
    pieces: list[bytes] = []
    with socket.create_server(("127.0.0.1", 0)) as there:

        def serve() -> None:
            with there.accept()[0] as asked:
                asked.settimeout(0.5)
                try:
                    while asked.recv(65536):
                        pass
                except TimeoutError:
                    pass
                try:
                    for piece in pieces:
                        asked.sendall(piece)
                    until = time.monotonic() + 5
                    while pieces[-1] and time.monotonic() < until:
                        asked.sendall(pieces[-1])
                        time.sleep(0.1 if len(pieces[-1]) < 10 else 0)
                except OSError:
                    pass  # whoever asked has had enough

        thread = threading.Thread(target=serve)
        thread.start()
        yield f"http://127.0.0.1:{there.getsockname()[1]}/xAPI", pieces
        thread.join()


HEAD = b"HTTP/1.1 200 OK\r\nContent-Type: text/html\r\n"


@pytest.mark.parametrize(
    ("pieces", "says"),
    [
        ([HEAD + b"Content-Length: 15\r\n\r\n<html>hi</html>", b""], "without the ids of the statements"),
        ([HEAD + b"\r\n", b"x" * 1_000_000], "its answer is endless"),
        ([HEAD + b"\r\n", b"x"], "has not finished its answer after"),
        ([b"HTTP/1.1 200 OK\r\nX: ", b"x"], "has not finished its answer after"),
    ],
)
def test_an_answer_of_a_record_store_is_read_only_so_far(
    answering: tuple[str, list[bytes]], monkeypatch: pytest.MonkeyPatch, pieces: list[bytes], says: str
) -> None:
    monkeypatch.setattr(lrs, "_SECONDS", 1)
    monkeypatch.setattr(lrs, "_TIMES", 3)
    answering[1].extend(pieces)
    with pytest.raises(UsageError, match=says):
        Store(answering[0]).send([{"id": "8e3f0c1e-3a52-4f7f-9a39-6a1fd3f2b4aa"}])


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
@pytest.mark.parametrize(
    ("words", "out", "says"),
    [
        (["check", "n" * 300], "", ""),
        (["check", b"\xff.yaml"], "", ""),
        (["record", "verify", b"\xff"], "", ""),
        (["replay", "n" * 300 + ".jsonl"], "", "File name too long"),
        (["review", "n" * 300], "", "File name too long"),
        (["check", "hand-hygiene"], "/dev/full", "No space left on device"),
    ],
)
def test_names_and_outputs_that_cannot_be_are_one_sentence(words: list[str | bytes], out: str, says: str) -> None:
    """With a terminal that takes UTF-8 and nothing else, as a strict one does."""
    env = {**os.environ, "PYTHONIOENCODING": "utf-8:strict"}
    command = [sys.executable, "-m", "companion", *words]
    with Path(out or os.devnull).open("wb") as where:
        done = subprocess.run(command, env=env, stdout=where, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 1 and says.encode() in done.stderr and done.stderr.count(b"\n") <= 1, done.stderr
    assert b"Traceback" not in done.stderr

"""A key with a passphrase, as a person at a terminal meets it: a real pseudo-terminal (pty of the standard library)."""

import os
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.serialization import load_pem_private_key

from companion import places
from companion.errors import RecordError
from companion.record.keys import is_sealed, own_key, seal_key
from companion.record.parcel import new_identity, pack, unpack
from tests.commands import KEYBOARD, companion
from tests.realparts import need
from tests.record.making import written

SHORT = Path(__file__).parents[1] / "data" / "short.yaml"
LONGEST_S = 240
_ON_ITS_TERMINAL = (
    "import fcntl, runpy, sys, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); "
    "sys.argv[0] = 'companion'; runpy.run_module('companion', run_name='__main__')"
)
"""What a login shell does: makes the terminal the one that /dev/tty stands for."""


def at_a_terminal(words: list[str], answers: list[tuple[str, str]]) -> tuple[int, str]:
    """Run a command on a terminal of its own; each answer is typed once its question has appeared. Its exit code and
    all that was shown."""
    need(sys.platform != "win32", "a pseudo-terminal is a POSIX thing")
    import pty
    import select

    ours, theirs = pty.openpty()
    command = [sys.executable, "-c", _ON_ITS_TERMINAL, *words]
    process = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True)
    os.close(theirs)
    shown, seen, begun, left = "", 0, time.monotonic(), list(answers)
    try:
        while time.monotonic() - begun < LONGEST_S:
            if not select.select([ours], [], [], 1)[0]:
                continue
            try:
                part = os.read(ours, 4096)
            except OSError:  # the other end is closed
                break
            if not part:
                break
            shown += part.decode("utf-8", "replace")
            if left and left[0][0] in shown[seen:]:  # more may have come with it
                seen = len(shown)
                os.write(ours, left.pop(0)[1].encode() + b"\n")
        return process.wait(timeout=60), shown
    except subprocess.TimeoutExpired:
        raise AssertionError(f"nothing more came after: {shown}") from None
    finally:
        process.kill()
        process.wait()
        os.close(ours)


def test_a_key_is_sealed_changed_and_bared_again(tmp_path: Path) -> None:
    key = own_key(tmp_path)
    assert not is_sealed(tmp_path)
    path = tmp_path / "signing.pem"
    with path.open("rb") as bare:
        seal_key(tmp_path, key, "correct horse")
        assert os.name != "posix" or bare.read() == b"", "the bare key is not left on the disk"
    assert is_sealed(tmp_path)
    # Independently: the cryptography library opens it with the passphrase and with nothing else
    assert load_pem_private_key(path.read_bytes(), b"correct horse")
    with pytest.raises(ValueError):
        load_pem_private_key(path.read_bytes(), b"incorrect horse")
    assert os.name != "posix" or stat.S_IMODE(path.stat().st_mode) == 0o600
    with pytest.raises(RecordError, match="sealed with a passphrase"):
        own_key(tmp_path)
    seal_key(tmp_path, own_key(tmp_path, "correct horse"), None)
    assert own_key(tmp_path).public == key.public
    assert sorted(p.name for p in tmp_path.iterdir()) == ["signing.pem", "signing.pub"]


def test_the_key_for_parcels_may_have_one_too(tmp_path: Path) -> None:
    record, identity, parcel = written(tmp_path, 3).path, tmp_path / "mine", tmp_path / "one.age"
    pack(record, [new_identity(identity, "battery staple")], parcel)
    assert b"AGE-SECRET-KEY" not in identity.read_bytes()
    for wrong in (None, "", "other"):
        with pytest.raises(RecordError, match="the passphrase does not open this key"):
            unpack(parcel, identity, tmp_path / "out.jsonl", wrong)
    unpack(parcel, identity, tmp_path / "out.jsonl", "battery staple")
    assert (tmp_path / "out.jsonl").read_bytes() == record.read_bytes()


def test_at_a_terminal_it_is_asked_for_before_the_session_and_never_shown() -> None:
    code, shown = at_a_terminal(
        ["record", "passphrase"], [("New passphrase:", "tulip bulb"), ("same again:", "tulip bulb")]
    )
    assert code == 0 and "is kept with a passphrase" in shown and "tulip" not in shown
    assert is_sealed(places.keys())

    code, shown = at_a_terminal(
        ["guide", str(SHORT), "--keyboard", "--silent", "--performer", "41"],
        [
            ("key that signs records:", "wrong"),
            ("key that signs records:", "tulip bulb"),
            ("[tray is complete |", "stop"),
            ("[go on |", "end the session"),
            ("[yes |", "exactly right"),
        ],
    )
    assert code == 0 and "tulip" not in shown, shown
    assert shown.index("Once more") < shown.index("A short drill") < shown.index("Outcome: abandoned"), shown
    assert shown.count("Passphrase of") == 2

    code, shown = at_a_terminal(["record", "passphrase", "--remove"], [("key that signs records:", "tulip bulb")])
    assert code == 0 and "without a passphrase" in shown
    assert not is_sealed(places.keys())


def test_without_a_terminal_one_sentence_says_so() -> None:
    seal_key(places.keys(), own_key(places.keys()), "tulip bulb")
    done = companion("guide", str(SHORT), *KEYBOARD)
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1 and "there is no terminal to type it at" in done.stderr
    assert not places.records().exists(), "no record was begun"

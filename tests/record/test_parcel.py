"""Encrypted to one person: checked against the age command itself and OpenSSH keys."""

import io
import os
import re
import shutil
import stat
import subprocess
import tarfile
from pathlib import Path

import numpy as np
import pyrage
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, PublicFormat

from companion.errors import RecordError, UsageError
from companion.record.clips import AGREEMENT, SOUND, ClipBox, sound_folder
from companion.record.parcel import new_identity, pack, unpack
from companion.record.verify import verify
from companion.record.writer import RecordWriter
from companion.session.events import Replied
from tests.commands import inside
from tests.record.making import OPENING, UnsyncedFiles, clock, key, written


def test_only_the_one_it_is_for_can_open_it_and_it_verifies_as_before(tmp_path: Path) -> None:
    path = written(tmp_path, 5).path
    receipt = verify(path, None, {key().public}).receipt
    public = new_identity(tmp_path / "educator" / "key.txt")
    new_identity(tmp_path / "other.txt")
    parcel = tmp_path / "one.age"
    pack(path, [public], parcel)
    assert b"vial" not in parcel.read_bytes()
    unpack(parcel, tmp_path / "educator" / "key.txt", tmp_path / "back.jsonl")
    assert (tmp_path / "back.jsonl").read_bytes() == path.read_bytes()
    assert verify(tmp_path / "back.jsonl", receipt, ()).ok
    with pytest.raises(RecordError, match=r"one\.age: does not open with the key in"):
        unpack(parcel, tmp_path / "other.txt", tmp_path / "no.jsonl")
    assert not (tmp_path / "no.jsonl").exists()
    if os.name == "posix":
        made = [parcel, tmp_path / "back.jsonl", tmp_path / "educator" / "key.txt"]
        assert {stat.S_IMODE(p.stat().st_mode) for p in made} == {0o600}


def test_kept_sound_travels_with_the_record(tmp_path: Path) -> None:
    writer = RecordWriter.create(tmp_path / "one.jsonl", OPENING, clock(), key(), UnsyncedFiles())
    writer.append(AGREEMENT, {"state": "given", "tags": ["41"]}, 0)
    event = Replied(at_ms=0, phrase="tray is tidy", by="voice")
    writer.append("event", {"event": event.model_dump(mode="json")}, 0)
    hum = (3000 * np.sin(np.arange(8000) / 9)).astype(np.int16)
    writer.append(SOUND, {"of": writer.last.n} | ClipBox(writer.path).put(hum), 0)
    writer.finish("signed", 0)
    assert verify(writer.path, None, {key().public}).ok
    public = new_identity(tmp_path / "key.txt")
    pack(writer.path, [public], tmp_path / "one.age")
    unpack(tmp_path / "one.age", tmp_path / "key.txt", tmp_path / "there" / "back.jsonl")
    assert (tmp_path / "there" / "back.jsonl").read_bytes() == writer.path.read_bytes()
    assert verify(tmp_path / "there" / "back.jsonl", None, {key().public}).ok
    (clip,) = sound_folder(tmp_path / "there" / "back.jsonl").iterdir()
    clip.unlink()
    assert verify(tmp_path / "there" / "back.jsonl", None, {key().public}).state == "sound"


@pytest.mark.parametrize("name", ["sound/../../escaped.flac", "/sound/0001.flac", "other.jsonl", "sound/0001.sh"])
def test_an_archive_that_would_write_elsewhere_is_refused(tmp_path: Path, name: str) -> None:
    """As somebody else might make one: whoever has the public key can send a parcel."""
    public = new_identity(tmp_path / "key.txt")
    held = io.BytesIO()
    with tarfile.open(fileobj=held, mode="w", format=tarfile.USTAR_FORMAT) as archive:
        for each in ("record.jsonl", name):
            archive.addfile(tarfile.TarInfo(each), io.BytesIO(b""))
    (tmp_path / "bad.age").write_bytes(pyrage.encrypt(held.getvalue(), [pyrage.x25519.Recipient.from_str(public)]))
    with pytest.raises(RecordError, match=rf"bad\.age: holds `{re.escape(name)}`"):
        unpack(tmp_path / "bad.age", tmp_path / "key.txt", tmp_path / "out" / "back.jsonl")
    assert not (tmp_path / "out").exists()


def test_the_age_command_opens_it_and_we_open_its_own(tmp_path: Path) -> None:
    age, keygen = shutil.which("age"), shutil.which("age-keygen")
    if age is None or keygen is None:
        pytest.skip("the age command is missing: apt install age")
    path, identity = written(tmp_path, 5).path, tmp_path / "key.txt"
    subprocess.run([keygen, "-o", str(identity)], check=True, capture_output=True)
    public = subprocess.run([keygen, "-y", str(identity)], check=True, capture_output=True, text=True).stdout.strip()
    pack(path, [public], tmp_path / "ours.age")
    done = subprocess.run([age, "-d", "-i", str(identity), str(tmp_path / "ours.age")], check=True, capture_output=True)
    assert done.stdout == path.read_bytes()
    subprocess.run([age, "-r", public, "-o", str(tmp_path / "theirs.age"), str(path)], check=True, capture_output=True)
    unpack(tmp_path / "theirs.age", identity, tmp_path / "back.jsonl")
    assert (tmp_path / "back.jsonl").read_bytes() == path.read_bytes()
    ours = new_identity(tmp_path / "ours.txt")
    again = subprocess.run([keygen, "-y", str(tmp_path / "ours.txt")], check=True, capture_output=True, text=True)
    assert again.stdout.strip() == ours


def test_an_openssh_key_will_do(tmp_path: Path) -> None:
    private = Ed25519PrivateKey.generate()
    identity = tmp_path / "id_ed25519"
    identity.write_bytes(private.private_bytes(Encoding.PEM, PrivateFormat.OpenSSH, NoEncryption()))
    public = private.public_key().public_bytes(Encoding.OpenSSH, PublicFormat.OpenSSH).decode()
    path = written(tmp_path, 3).path
    pack(path, [public, new_identity(tmp_path / "second.txt")], tmp_path / "one.age")
    for number, each in enumerate((identity, tmp_path / "second.txt")):
        unpack(tmp_path / "one.age", each, tmp_path / f"{number}.jsonl")
        assert (tmp_path / f"{number}.jsonl").read_bytes() == path.read_bytes()


def test_what_does_not_fit_is_named_and_nothing_is_written_over(tmp_path: Path) -> None:
    path, identity = written(tmp_path, 3).path, tmp_path / "key.txt"
    public = new_identity(identity)
    with pytest.raises(UsageError, match="a public key is needed"):
        pack(path, [], tmp_path / "one.age")
    for wrong in ("age1nothing", "ssh-rsa", "educator", identity.read_text().splitlines()[1]):
        with pytest.raises(UsageError, match="is no public key") as fault:
            pack(path, [wrong], tmp_path / "one.age")
        assert "SECRET" not in str(fault.value)
    with pytest.raises(RecordError, match=r"gone\.jsonl: cannot be read \(No such file"):
        pack(tmp_path / "gone.jsonl", [public], tmp_path / "one.age")
    pack(path, [public], tmp_path / "one.age")
    for act in (lambda: pack(path, [public], tmp_path / "one.age"), lambda: new_identity(identity)):
        with pytest.raises(RecordError, match=r"cannot be written \(File exists"):
            act()
    for wrong_identity in (path, tmp_path / "one.age", Path("/dev/null")):
        with pytest.raises(RecordError, match=r"holds no private key|a folder or device, not a file"):
            unpack(tmp_path / "one.age", wrong_identity, tmp_path / "no.jsonl")
    with pytest.raises(RecordError, match="does not open"):
        unpack(path, identity, tmp_path / "no.jsonl")
    data = bytearray((tmp_path / "one.age").read_bytes())
    data[-20] ^= 1
    (tmp_path / "bent.age").write_bytes(data)
    with pytest.raises(RecordError, match="does not open"):
        unpack(tmp_path / "bent.age", identity, tmp_path / "no.jsonl")


def test_the_commands_hand_a_record_from_one_to_the_other(tmp_path: Path) -> None:
    def run(*arguments: str, code: int = 0) -> str:
        found, said = inside("record", *arguments)
        assert found == code, said
        return said.strip()

    path = written(tmp_path / "here" / "one.jsonl", 3).path
    public = run("new-key", str(tmp_path / "key.txt"))
    parcel = Path(run("encrypt", str(path), "--to", public))
    assert parcel == tmp_path / "here" / "one.jsonl.age"
    arrived = parcel.rename(tmp_path / "one.jsonl.age")
    assert "signed with the unknown key" in run("decrypt", str(arrived), "--key", str(tmp_path / "key.txt"), code=1)
    assert "  ward  " in run("trust", key().public, "--name", "ward")
    assert "  ward  " in run("trust")
    assert (tmp_path / "one.jsonl").read_bytes() == path.read_bytes()
    other = arrived.rename(tmp_path / "letter")
    with pytest.raises(UsageError, match=r"say with --out"):
        run("decrypt", str(other), "--key", str(tmp_path / "key.txt"))
    run("decrypt", str(other), "--key", str(tmp_path / "key.txt"), "--out", str(tmp_path / "two.jsonl"))

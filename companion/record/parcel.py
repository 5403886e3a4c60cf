"""Handing a record to an educator and to nobody else: encrypted to a public key, in the age format
(age-encryption.org/v1).

What arrives is the record itself, byte for byte: it verifies as it did before, also against its receipt. Where sound
was kept with it, the clips travel along in one archive (POSIX tar) with the record.
"""

import io
import re
import tarfile
from collections.abc import Mapping, Sequence
from pathlib import Path

import pyrage

from companion.errors import RecordError, UsageError
from companion.plainfiles import folder_at, read_plain
from companion.record.chain import LARGEST
from companion.record.clips import CLIP_NAME, sound_folder
from companion.record.clips import LARGEST as LARGEST_CLIP
from companion.record.files import DiskFiles, put_new

SUFFIX = ".age"
_SEALED = b"age-encryption.org/v1\n-> scrypt "
"""How a file that is encrypted with a passphrase begins (age-encryption.org/v1)."""
_RECORD = "record.jsonl"
_CLIP = re.compile(rf"sound/({CLIP_NAME.pattern})", re.ASCII)
"""What an archive may hold besides the record; anything else is refused, so that no name can lead elsewhere."""


def new_identity(path: Path, passphrase: str | None = None) -> str:
    """Make a private key at `path` (0600; never over an existing file), as `age-keygen` would, encrypted with
    `passphrase` when one is given. Returns the public key, which is for giving away."""
    identity = pyrage.x25519.Identity.generate()
    public = str(identity.to_public())
    text = f"# public key: {public}\n{identity}\n".encode("ascii")
    _put(path, pyrage.passphrase.encrypt(text, passphrase) if passphrase else text)
    return public


def needs_passphrase(identity: Path) -> bool:
    """Whether the private key in the file `identity` is encrypted with a passphrase. Raises RecordError."""
    return _read(identity, links=True).startswith(_SEALED)


def pack(path: Path, recipients: Sequence[str], out: Path) -> None:
    """Write the record at `path`, with the sound that was kept with it, encrypted to every one of `recipients` (public
    keys, `age1...` or `ssh-ed25519 ...`), as the new file `out`. Raises RecordError and UsageError."""
    if not recipients:
        raise UsageError("a public key is needed, such as age1... or ssh-ed25519 ...")
    keys = [_recipient(text) for text in recipients]
    clips = _clips(path)
    record = _read(path)
    _put(out, pyrage.encrypt(_archive(record, clips) if clips else record, keys))


def unpack(path: Path, identity: Path, out: Path, passphrase: str | None = None) -> None:
    """Decrypt the parcel at `path` with the private key in the file `identity`, itself opened with `passphrase`
    where it needs one, into the new file `out`, and its sound into the folder beside that. Raises RecordError."""
    keys = _identities(identity, passphrase)
    try:
        plain = pyrage.decrypt(_read(path), keys)
    except pyrage.DecryptError as fault:
        raise RecordError(f"{path}: does not open with the key in {identity} ({fault})") from fault
    record, clips = _unarchived(path, plain)
    _put(out, record)
    for name, sound in clips.items():
        _put(sound_folder(out) / name, sound)


def _clips(path: Path) -> dict[str, bytes]:
    """The clips beside a record, by name."""
    try:
        with folder_at(sound_folder(path)) as folder:
            names = [name for name in folder.names() if CLIP_NAME.match(name)] if folder is not None else []
            return {name: folder.read(name, LARGEST_CLIP) for name in names} if folder is not None else {}
    except OSError as fault:
        raise RecordError(f"{sound_folder(path)}: the sound cannot be read ({fault.strerror})") from fault


def _archive(record: bytes, clips: Mapping[str, bytes]) -> bytes:
    """One archive that says nothing of whose files these were."""
    held = io.BytesIO()
    with tarfile.open(fileobj=held, mode="w", format=tarfile.USTAR_FORMAT) as archive:
        for name, data in ((_RECORD, record), *((f"sound/{clip}", sound) for clip, sound in clips.items())):
            member = tarfile.TarInfo(name)
            member.size, member.mode = len(data), 0o600
            archive.addfile(member, io.BytesIO(data))
    return held.getvalue()


def _unarchived(path: Path, plain: bytes) -> tuple[bytes, dict[str, bytes]]:
    """The record and its clips; a parcel without sound is the record itself, which begins with a brace."""
    if not plain.startswith(_RECORD.encode("ascii") + b"\0"):
        return plain, {}
    record, clips = b"", dict[str, bytes]()
    try:
        with tarfile.open(fileobj=io.BytesIO(plain), mode="r:") as archive:
            for member in archive:
                clip = _CLIP.match(member.name)
                # Neither links nor files with holes: those say they are larger than what there is of them
                if not member.isreg() or member.issparse() or (clip is None and member.name != _RECORD):
                    raise RecordError(f"{path}: holds `{member.name}`, which is neither a record nor a clip of sound")
                file = archive.extractfile(member)
                data = file.read() if file is not None else b""
                if clip is None:
                    record = data
                else:
                    clips[clip[1]] = data
    except (tarfile.TarError, ValueError, OSError) as fault:
        raise RecordError(f"{path}: what is in it cannot be taken apart ({fault})") from fault
    return record, clips


def _recipient(text: str) -> pyrage.x25519.Recipient | pyrage.ssh.Recipient:
    try:
        if text.startswith("ssh-"):
            return pyrage.ssh.Recipient.from_str(text)
        return pyrage.x25519.Recipient.from_str(text.strip())
    except pyrage.RecipientError as fault:
        shown = "a private key" if "SECRET" in text.upper() else repr(text)
        raise UsageError(f"{shown} is no public key; age1... and ssh-ed25519 ... are accepted") from fault


def _identities(path: Path, passphrase: str | None) -> list[pyrage.x25519.Identity | pyrage.ssh.Identity]:
    data = _read(path, links=True)
    if data.startswith(_SEALED):
        try:
            data = pyrage.passphrase.decrypt(data, passphrase or "")
        except pyrage.DecryptError as fault:
            raise RecordError(f"{path}: the passphrase does not open this key") from fault
    try:
        if data.startswith(b"-----BEGIN"):
            return [pyrage.ssh.Identity.from_buffer(data)]
        lines = [line.strip() for line in data.decode("ascii").splitlines()]
        found = [pyrage.x25519.Identity.from_str(line) for line in lines if line and not line.startswith("#")]
    except (pyrage.IdentityError, UnicodeDecodeError) as fault:
        raise RecordError(f"{path}: holds no private key; AGE-SECRET-KEY-1... or an OpenSSH key is accepted") from fault
    if not found:
        raise RecordError(f"{path}: holds no private key; AGE-SECRET-KEY-1... or an OpenSSH key is accepted")
    return list(found)


def _read(path: Path, links: bool = False) -> bytes:
    try:
        return read_plain(path, LARGEST, links)
    except OSError as fault:
        raise RecordError(f"{path}: cannot be read ({fault.strerror})") from fault


def _put(path: Path, data: bytes) -> None:
    files = DiskFiles()
    try:
        files.make_folder(path.parent)
        put_new(files, path, data)
        files.sync_folder(path.parent)
    except OSError as fault:
        raise RecordError(f"{path}: cannot be written ({fault.strerror})") from fault

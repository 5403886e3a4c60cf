"""Handing a record to an educator and to nobody else: encrypted to a public key, in the age format
(age-encryption.org/v1).

What arrives is the record itself, byte for byte: it verifies as it did before, also against its receipt.
"""

from collections.abc import Sequence
from pathlib import Path

import pyrage

from companion.errors import RecordError, UsageError
from companion.record.files import DiskFiles, put_new

SUFFIX = ".age"
_SEALED = b"age-encryption.org/v1\n-> scrypt "
"""How a file that is encrypted with a passphrase begins (age-encryption.org/v1)."""
LARGEST = 512 * 1024 * 1024
"""Bytes; a parcel is opened in memory."""


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
    return _read(identity).startswith(_SEALED)


def pack(path: Path, recipients: Sequence[str], out: Path) -> None:
    """Write the file at `path`, encrypted to every one of `recipients` (public keys, `age1...` or `ssh-ed25519
    ...`), as the new file `out`. Raises RecordError and UsageError."""
    if not recipients:
        raise UsageError("a public key is needed, such as age1... or ssh-ed25519 ...")
    keys = [_recipient(text) for text in recipients]
    _put(out, pyrage.encrypt(_read(path), keys))


def unpack(path: Path, identity: Path, out: Path, passphrase: str | None = None) -> None:
    """Decrypt the parcel at `path` with the private key in the file `identity`, itself opened with `passphrase`
    where it needs one, into the new file `out`. Raises RecordError."""
    keys = _identities(identity, passphrase)
    try:
        plain = pyrage.decrypt(_read(path), keys)
    except pyrage.DecryptError as fault:
        raise RecordError(f"{path}: does not open with the key in {identity} ({fault})") from fault
    _put(out, plain)


def _recipient(text: str) -> pyrage.x25519.Recipient | pyrage.ssh.Recipient:
    try:
        if text.startswith("ssh-"):
            return pyrage.ssh.Recipient.from_str(text)
        return pyrage.x25519.Recipient.from_str(text.strip())
    except pyrage.RecipientError as fault:
        shown = "a private key" if "SECRET" in text.upper() else repr(text)
        raise UsageError(f"{shown} is no public key; age1... and ssh-ed25519 ... are accepted") from fault


def _identities(path: Path, passphrase: str | None) -> list[pyrage.x25519.Identity | pyrage.ssh.Identity]:
    data = _read(path)
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


def _read(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST:
            raise RecordError(f"{path}: larger than {LARGEST // 1024**2} MB, which no record is")
        return path.read_bytes()
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

"""The Ed25519 key that signs records, made on first use, and the public keys this machine knows."""

import contextlib
import hashlib
import os
import secrets
from contextlib import ExitStack
from pathlib import Path

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

from companion.errors import RecordError
from companion.record.files import DiskFiles, overwrite, put_new

_PRIVATE = "signing.pem"
_PUBLIC = "signing.pub"


class SigningKey:
    """A private key in memory."""

    def __init__(self, private: Ed25519PrivateKey) -> None:
        self._private = private
        self.public = private.public_key().public_bytes_raw().hex()
        """The public key: 64 lower-case hex digits."""

    def sign(self, message: bytes) -> str:
        """The signature (RFC 8032, section 5.1.6): 128 lower-case hex digits."""
        return self._private.sign(message).hex()

    def pem(self, passphrase: str | None) -> bytes:
        """The private key as PKCS 8 in PEM, encrypted when a passphrase is given."""
        sealing = BestAvailableEncryption(passphrase.encode()) if passphrase else NoEncryption()
        return self._private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, sealing)


def key_id(public: str) -> str:
    """A short name of a public key for people: the first 16 hex digits of its SHA-256."""
    return hashlib.sha256(bytes.fromhex(public)).hexdigest()[:16]


def signed_by(public: str, message: bytes, signature: str) -> bool:
    """True when `signature` over `message` was made with the private half of `public`, both in lower-case hex."""
    try:
        raw, key = bytes.fromhex(signature), bytes.fromhex(public)
        if raw.hex() != signature or key.hex() != public:  # only the one written form counts
            return False
        Ed25519PublicKey.from_public_bytes(key).verify(raw, message)
    except (ValueError, InvalidSignature):
        return False
    return True


def own_key(folder: Path, passphrase: str | None = None) -> SigningKey:
    """The key kept in `folder`, made there on first use (0600, sealed with `passphrase` when one is given).

    Raises RecordError when it cannot be made, read or unlocked, or when others could have read it.
    """
    path = folder / _PRIVATE
    try:
        if not path.exists():
            _make(path, passphrase)
        if os.name == "posix" and path.stat().st_mode & 0o077:
            raise RecordError(f"{path}: others on this machine can read this key; run: chmod 600 {path}")
        data = path.read_bytes()
        key = SigningKey(_load(path, data, passphrase))
        _publish(folder / _PUBLIC, key.public)
    except OSError as fault:
        raise RecordError(f"{path}: the key that signs records cannot be used ({fault.strerror})") from fault
    return key


def is_sealed(folder: Path) -> bool:
    """Whether the key kept in `folder` needs a passphrase. False where there is none yet, or it cannot be read."""
    try:
        load_pem_private_key((folder / _PRIVATE).read_bytes(), None)
    except TypeError:
        return True
    except (OSError, ValueError, UnsupportedAlgorithm):
        return False
    return False


def seal_key(folder: Path, key: SigningKey, passphrase: str | None) -> None:
    """Keep `key` in `folder` sealed with `passphrase`, or bare with None, in place of how it was kept before.

    Whenever that is broken off, one of the two is there. Raises RecordError.
    """
    path, files = folder / _PRIVATE, DiskFiles()
    draft = path.with_name(f"{path.name}.{secrets.token_hex(8)}")
    try:
        with ExitStack() as held:
            put_new(files, draft, key.pem(passphrase))
            if os.name == "posix":
                old = held.enter_context(path.open("r+b"))
                draft.replace(path)
                files.sync_folder(folder)
                overwrite(old.fileno())
        if draft.exists():  # elsewhere nobody may hold a file open that is replaced
            draft.replace(path)
    except OSError as fault:
        raise RecordError(f"{path}: the key cannot be kept another way ({fault.strerror})") from fault


def _load(path: Path, data: bytes, passphrase: str | None) -> Ed25519PrivateKey:
    secret = passphrase.encode() if passphrase else None
    try:
        private = load_pem_private_key(data, secret)
    except TypeError as fault:
        if passphrase:  # given for a key that has none: it opens anyway
            return _load(path, data, None)
        raise RecordError(f"{path}: this key is sealed with a passphrase; give it") from fault
    except (ValueError, UnsupportedAlgorithm) as fault:
        why = "the passphrase does not open it" if passphrase else "it is not a private key in PEM form"
        raise RecordError(f"{path}: {why}") from fault
    if not isinstance(private, Ed25519PrivateKey):
        raise RecordError(f"{path}: an Ed25519 key is accepted, not another kind")
    return private


def _make(path: Path, passphrase: str | None) -> None:
    files = DiskFiles()
    files.make_folder(path.parent)
    pem = SigningKey(Ed25519PrivateKey.generate()).pem(passphrase)
    draft = path.with_name(f"{path.name}.{secrets.token_hex(8)}")
    put_new(files, draft, pem)
    try:
        # A link fails when another process was first, so that two first uses end up with one key.
        with contextlib.suppress(FileExistsError):
            os.link(draft, path)
        files.sync_folder(path.parent)
    finally:
        files.remove(draft)


def _publish(path: Path, public: str) -> None:
    """Keep the public half beside the private one, so that verifying needs no passphrase."""
    if not path.exists():
        with contextlib.suppress(FileExistsError):
            put_new(DiskFiles(), path, public.encode("ascii") + b"\n")

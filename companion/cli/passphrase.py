"""The key that signs records and its passphrase, asked for at the terminal before anything begins."""

import getpass
import sys
from pathlib import Path

from companion import places
from companion.cli.terminal import tell
from companion.errors import RecordError, UsageError
from companion.record.keys import SigningKey, is_sealed, own_key
from companion.record.parcel import needs_passphrase

_TRIES = 3


def signing_key() -> SigningKey:
    """This machine's key, made on first use; its passphrase is asked for where it has one.

    Raises RecordError when it does not open, and UsageError where it has to be asked for and there is no terminal.
    """
    folder = places.keys()
    if not is_sealed(folder):
        return own_key(folder)
    for left in range(_TRIES - 1, -1, -1):
        given = ask("Passphrase of the key that signs records", folder)
        try:
            return own_key(folder, given)
        except RecordError as fault:
            if not left or "passphrase" not in str(fault):
                raise
            tell("That does not open it. Once more.", err=True)
    raise AssertionError("the last try either opens it or raises")


def identity_passphrase(identity: Path) -> str | None:
    """The passphrase of the private key that opens parcels; None where it has none."""
    return ask(f"Passphrase of {identity}", identity) if needs_passphrase(identity) else None


def new_passphrase() -> str:
    """A passphrase typed twice. Raises UsageError."""
    if not sys.stdin.isatty():
        raise UsageError("a passphrase is typed at a terminal, and there is none here")
    given = getpass.getpass("New passphrase: ")
    if not given:
        raise UsageError("an empty passphrase protects nothing; to keep the key without one use --remove")
    if getpass.getpass("The same again: ") != given:
        raise UsageError("the two were not the same; nothing was changed")
    return given


def ask(what: str, where: Path) -> str:
    """What is typed at the terminal, unseen. Raises UsageError where there is none."""
    if not sys.stdin.isatty():
        raise UsageError(f"{where}: its key has a passphrase, and there is no terminal to type it at; run this in one")
    return getpass.getpass(f"{what}: ")

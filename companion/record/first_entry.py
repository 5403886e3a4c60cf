"""The first entry: what the record is about, and what pins it."""

import hashlib
import re
import secrets
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from companion import __version__
from companion.errors import RecordError
from companion.record.entry import Entry
from companion.record.keys import key_id
from companion.session.events import EVENTS_VERSION

RECORD_VERSION = 3
"""Raised whenever the form of an entry changes; `upcast` then gains a step from the version before."""

_ID = re.compile(r"[a-z0-9][a-z0-9._-]{0,99}\Z")
_ADDED = ("record_version", "events_version", "program_version", "procedure_sha256", "public_key", "key_id", "salt")


def opening_body(given: Mapping[str, Any], public: str) -> dict[str, Any]:
    """The body of the first entry from what the caller gives. Raises RecordError when something is missing or
    would be overwritten."""
    for name in ("procedure_id", "procedure_text"):
        if not isinstance(given.get(name), str):
            raise RecordError(f"opening: {name} is missing; it must be text")
    if not _ID.match(given["procedure_id"]):
        raise RecordError(
            f"opening: procedure_id {given['procedure_id']!r}; lower-case letters, figures, '.', '_' and '-' are "
            "accepted, 100 at most"
        )
    taken = [name for name in _ADDED if name in given]
    if taken:
        raise RecordError(f"opening: {taken[0]} is filled in by the record itself")
    return {
        **given,
        "record_version": RECORD_VERSION,
        "events_version": EVENTS_VERSION,
        "program_version": __version__,
        "procedure_sha256": sha256_of(given["procedure_text"]),
        "public_key": public,
        "key_id": key_id(public),
        # What a purge leaves is a hash over everything said. Without something random that goes with the content,
        # a short session could be guessed back from it.
        "salt": secrets.token_hex(16),
    }


def check_opening(path: Path, opening: Entry) -> None:
    """Raises RecordError when this program cannot read such a record, or the first entry contradicts itself."""
    wrong = misfit_of_opening(opening)
    if wrong:
        raise RecordError(f"{path}: line 1: {wrong}")


def misfit_of_opening(opening: Entry) -> str:
    """What is wrong with the first entry, in plain words; empty when nothing is."""
    body = opening.body
    version = body.get("record_version")
    if type(version) is not int or version < 1:
        return "the record does not say which version it is"
    if version > RECORD_VERSION:
        return f"written in version {version} by a newer program; this one reads up to version {RECORD_VERSION}"
    public = body.get("public_key")
    if not isinstance(public, str) or not re.fullmatch(r"[0-9a-f]{64}", public) or body.get("key_id") != key_id(public):
        return "the key in it is not whole"
    text = body.get("procedure_text")
    if not isinstance(text, str) or body.get("procedure_sha256") != sha256_of(text):
        return "the procedure in it is not the one it names by SHA-256"
    return ""


def sha256_of(text: str) -> str:
    """SHA-256 of the text's UTF-8 bytes, as hex."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()

"""One entry of a session record: one line of JSON, tied to the line before by its hash."""

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from companion.record.canonical import canonical, parse

FIRST_PREV = "0" * 64
"""What stands for the hash of the line before the first."""

OPENED = "opened"
RECOVERED = "recovered"
CLOSED = "closed"
PURGED = "purged"

_HEX64 = re.compile(r"[0-9a-f]{64}\Z")
LONGEST_MS = 1000 * 366 * 86_400_000
"""A thousand years; more than any wall clock can jump while a session waits to be resumed."""

_UTC = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z\Z", re.ASCII)


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of the record."""

    n: int
    """Its number, from 0."""
    prev: str
    """SHA-256 of the line before (its canonical bytes, without the newline), 64 lower-case hex digits."""
    session: str
    utc: str
    """The wall clock, RFC 3339 with milliseconds and Z. It may jump."""
    mono_ms: int
    """The monotonic clock, milliseconds; it starts anew with the machine."""
    at_ms: int
    """Session time, milliseconds since the first entry, as the session gave it."""
    kind: str
    body: Mapping[str, Any]

    def value(self) -> dict[str, Any]:
        """The JSON object of this entry."""
        return {
            "at_ms": self.at_ms,
            "body": dict(self.body),
            "kind": self.kind,
            "mono_ms": self.mono_ms,
            "n": self.n,
            "prev": self.prev,
            "session": self.session,
            "utc": self.utc,
        }

    def line(self) -> bytes:
        """The canonical bytes, without the newline. Raises RecordError when the body holds what JSON cannot."""
        return canonical(self.value())

    def when(self) -> datetime:
        """`utc` as a zoned time."""
        return datetime.fromisoformat(self.utc)


def entry_from_line(line: bytes) -> Entry:
    """The entry that `line` (without its newline) holds. Raises ValueError saying in plain words why it is none."""
    value = parse(line)
    try:
        entry = Entry(**value)
    except TypeError as fault:
        raise ValueError("its fields are not those of an entry") from fault
    texts = {type(entry.prev), type(entry.session), type(entry.utc), type(entry.kind)}
    numbers = {type(entry.n), type(entry.mono_ms), type(entry.at_ms)}
    if texts != {str} or numbers != {int}:
        raise ValueError("a field of it has the wrong type")
    if not isinstance(entry.body, dict):
        raise ValueError("its body is not an object")
    if not _HEX64.match(entry.prev) or not _UTC.match(entry.utc):
        raise ValueError("its hash or its time is not in the right form")
    if not 0 <= entry.at_ms <= LONGEST_MS:
        raise ValueError(f"its session time is {entry.at_ms}, which no clock shows")
    try:
        entry.when()
    except ValueError as fault:
        raise ValueError(f"its time {entry.utc} is no date") from fault
    return entry


def digest(line: bytes) -> str:
    """SHA-256 of a line, as `prev` of the next one holds it."""
    return hashlib.sha256(line).hexdigest()


def stamp(utc: datetime) -> str:
    """RFC 3339 with milliseconds and Z, from a zoned time."""
    return utc.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")

"""Reading a record back: only what verifies is handed out."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic_core import from_json

from companion.errors import RecordError
from companion.plainfiles import opened
from companion.record.chain import lines_of, unfinished
from companion.record.content import misfit_of_content
from companion.record.entry import LONGEST_MS, OPENED, PURGED, Entry
from companion.record.first_entry import misfit_of_opening
from companion.record.upcast import upcast
from companion.record.verify import Finding, examine

__all__ = ["Entry", "Read", "Record", "glance", "read_record"]

_MOST = 100_000
"""Entries of a record that is only looked at; no session comes near it."""


@dataclass(frozen=True)
class Read:
    """What was read of a record: nothing here says that it can be believed."""

    path: Path
    opening: Mapping[str, Any]
    """Body of the first entry: `procedure_id`, `procedure_text`, `procedure_sha256`, versions, `public_key`,
    and what the session gave."""
    entries: tuple[Entry, ...]
    """All of them, the opening and the closing one included, lifted to the present version."""


@dataclass(frozen=True)
class Record(Read):
    """A record whose chain holds."""

    finding: Finding
    """What verification says; its `state` is one of intact, stranger, open, torn."""

    @property
    def closed(self) -> bool:
        """True when the closing entry is there and its signature holds."""
        return self.finding.state in ("intact", "stranger")

    @property
    def torn(self) -> int:
        """Bytes of a last line that was never finished; they are not among the entries."""
        return self.finding.torn


def read_record(path: Path) -> Record:
    """The record at `path`, verified. Raises RecordError, in plain words, when it cannot be believed.

    An open record, one with an unfinished last line, and one signed with a key this machine does not know can
    be read: see `Record.finding`.
    """
    finding, found = examine(path, None, None)
    if found.stone is not None or finding.state not in ("intact", "stranger", "open", "torn"):
        raise RecordError(finding.sentence())
    version = found.entries[0].body["record_version"]
    for number, entry in enumerate(found.entries, start=1):
        wrong = misfit_of_content(entry)
        if wrong:
            raise RecordError(f"{path}: line {number}: {wrong}; no session writes that, so it cannot be read on")
    entries = tuple(upcast(entry, version) for entry in found.entries)
    return Record(path, entries[0].body, entries, finding)


def glance(path: Path, most: int) -> Read | None:
    """The record at `path`, of at most `most` bytes, without verifying it: only the opening is held against what it
    names, so that its procedure is the one. A last line that was never finished is left out. None where it was purged.

    Raises RecordError, without the path, where it holds anything but entries."""
    entries: list[Entry] = []
    try:
        with opened(path, most) as file:
            for line in lines_of(file):
                if unfinished(line):
                    break
                entries.append(_entry(line, len(entries)))
    except OSError as fault:
        raise RecordError(f"it cannot be read ({fault.strerror})") from fault
    if entries and entries[0].kind == PURGED:
        return None
    if not entries or entries[0].kind != OPENED:
        raise RecordError("it holds no opening entry")
    wrong = misfit_of_opening(entries[0]) or misfit_of_content(entries[0])
    if wrong:
        raise RecordError(f"line 1: {wrong}")
    version = entries[0].body["record_version"]
    return Read(path, entries[0].body, tuple(upcast(entry, version) for entry in entries))


def _entry(line: bytes, number: int) -> Entry:
    try:
        entry = Entry(**from_json(line))
        typed = type(entry.n) is type(entry.at_ms) is int and type(entry.kind) is type(entry.utc) is str
        if typed and isinstance(entry.body, dict) and 0 <= entry.at_ms <= LONGEST_MS and number < _MOST:
            return entry
    except (ValueError, TypeError):
        pass
    raise RecordError(f"line {number + 1}: it is no entry, or there are more than any session has")

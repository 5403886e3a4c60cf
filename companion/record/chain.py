"""Following a record line by line: every number, link and session must fit the line before."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from companion.plainfiles import opened
from companion.record.entry import CLOSED, FIRST_PREV, OPENED, PURGED, Entry, digest, entry_from_line

LONGEST_LINE = 16 * 1024 * 1024
"""Bytes. The first entry carries a procedure file (at most 1 MiB, before escaping); no line comes near this."""

LARGEST = 512 * 1024 * 1024
"""Bytes of a record; a session comes to a few hundred thousand."""


@dataclass
class Scan:
    """What was found from the first line to the first fault, or to the end."""

    entries: list[Entry] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)
    """The SHA-256 of each entry's line."""
    size: int = 0
    """Bytes that the entries take up in the file."""
    fault_line: int = 0
    """From 1; 0 when there is no fault."""
    fault: str = ""
    """What is wrong there, in plain words."""
    torn: bytes = b""
    """A last line that was never finished."""

    stone: Entry | None = None
    """The tombstone, when that is all there is."""

    @property
    def head(self) -> str:
        """Hash of the last line, or the zeros before the first."""
        return self.lines[-1] if self.lines else FIRST_PREV

    @property
    def closed(self) -> bool:
        return bool(self.entries) and self.entries[-1].kind == CLOSED


def lines_of(file: IO[bytes]) -> Iterable[bytes]:
    """The lines of an open file with their newlines; one of more than `LONGEST_LINE` bytes comes cut."""
    while line := file.readline(LONGEST_LINE):
        yield line


def scan_file(path: Path) -> Scan:
    """`scan` of the record at `path`. Raises OSError, also where that is no plain file, or larger than `LARGEST`."""
    with opened(path, LARGEST) as file:
        return scan(lines_of(file))


def scan(lines: Iterable[bytes]) -> Scan:
    """Check `lines` (each with its newline). Stops at the first line that does not fit; repairs nothing."""
    found = Scan()
    pending: bytes | None = None  # one line behind: only the last may be unfinished
    for line in lines:
        if pending is not None and not _take(found, pending):
            return found
        pending = line
    if pending is None:
        return found
    if not unfinished(pending):
        _take(found, pending)
    elif found.stone is not None:
        _fault(found, "there is something after the tombstone")
    elif found.closed:
        _fault(found, "there is something after the closing entry")
    else:
        found.torn = pending
    return found


def unfinished(line: bytes) -> bool:
    """True for a last line that was never wholly on the disk: no newline, or NUL bytes, which no entry holds and
    a file system leaves where a part of a write did not arrive before the power went."""
    return not line.endswith(b"\n") or b"\0" in line


def _take(found: Scan, line: bytes) -> bool:
    bare = line[:-1]
    if not line.endswith(b"\n"):
        return _fault(found, "it is longer than any entry can be")
    try:
        entry = entry_from_line(bare)
    except ValueError as fault:
        return _fault(found, str(fault))
    wrong = _misfit(found, entry)
    if wrong:
        return _fault(found, wrong)
    if entry.kind == PURGED:
        found.stone = entry
        return True
    found.entries.append(entry)
    found.lines.append(digest(bare))
    found.size += len(line)
    return True


def _misfit(found: Scan, entry: Entry) -> str:
    if found.stone is not None:
        return "there is something after the tombstone"
    if entry.kind == PURGED:
        return "a tombstone among other entries" if found.entries else ""
    if not found.entries:
        if entry.n != 0 or entry.kind != OPENED:
            return "the record does not begin with its opening entry"
        return "" if entry.prev == FIRST_PREV else "its link to the line before does not fit: there should be none"
    before = found.entries[-1]
    if before.kind == CLOSED:
        return "there is something after the closing entry"
    if entry.session != before.session:
        return "it belongs to another session"
    if entry.n != before.n + 1:
        return f"it is numbered {entry.n} where {before.n + 1} is due: entries were removed, added or moved"
    if entry.prev != found.head:
        return "its link to the line before does not fit: one of the two was changed"
    return "a second opening entry" if entry.kind == OPENED else ""


def _fault(found: Scan, what: str) -> bool:
    found.fault_line = len(found.entries) + (1 if found.stone is None else 2)
    found.fault = what
    return False

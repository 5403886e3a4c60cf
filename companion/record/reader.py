"""Reading a record back: only what verifies is handed out."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from companion.errors import RecordError
from companion.record.content import misfit_of_content
from companion.record.entry import Entry
from companion.record.upcast import upcast
from companion.record.verify import Finding, examine

__all__ = ["Entry", "Record", "read_record"]


@dataclass(frozen=True)
class Record:
    """A record whose chain holds."""

    path: Path
    opening: Mapping[str, Any]
    """Body of the first entry: `procedure_id`, `procedure_text`, `procedure_sha256`, versions, `public_key`,
    and what the session gave."""
    entries: tuple[Entry, ...]
    """All of them, the opening and the closing one included, lifted to the present version."""
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

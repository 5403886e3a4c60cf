"""Destroying what records say, when their time is over or someone asks for it.

The bytes are overwritten, as far as a program can: a solid-state drive, a snapshot or a backup may still hold them.
"""

import os
import secrets
from contextlib import ExitStack
from datetime import datetime, timedelta
from pathlib import Path

from companion.errors import RecordError, UsageError
from companion.ports.clock import Clock
from companion.record.chain import lines_of, scan
from companion.record.files import DiskFiles, destroy, overwrite, put_new
from companion.record.keys import SigningKey
from companion.record.tombstone import tombstone
from companion.record.verify import records_in

_FILES = DiskFiles()


def purge(path: Path, reason: str, clock: Clock, key: SigningKey) -> None:
    """Destroy the content of the record at `path` and of what lies beside it under its name (lines set aside,
    encrypted copies), and leave a tombstone signed with `key` in its place.

    Whenever it is broken off, either the whole record or its tombstone is there, and it can be called again.
    Raises RecordError, and UsageError when `reason` is not a few words.
    """
    draft = path.with_name(f"{path.name}.{secrets.token_hex(4)}.new")
    try:
        with ExitStack() as held:
            lock = _FILES.open(path)
            held.callback(_FILES.close, lock)
            if not _FILES.lock(lock):
                raise RecordError(f"{path}: another program is writing this record; end that one first")
            with path.open("rb") as file:
                found = scan(lines_of(file))
            if found.stone is not None:
                raise RecordError(f"{path}: was purged before; there is nothing left to destroy")
            if not found.entries:
                raise RecordError(f"{path}: is no session record, or holds no entry that can be read; left as it is")
            stone = tombstone(found, reason, clock, key).line() + b"\n"
            # First what lies beside it: once the tombstone stands, nobody looks there any more
            for side in list(path.parent.iterdir()):
                if side.name.startswith(f"{path.name}."):
                    destroy(side)
            put_new(_FILES, draft, stone)
            if os.name == "posix":
                old = held.enter_context(path.open("r+b"))  # the file itself, whatever its name stands for later
                draft.replace(path)
                _FILES.sync_folder(path.parent)
                overwrite(old.fileno())
        if draft.exists():  # elsewhere nobody may hold a file open that is replaced
            destroy(path)
            draft.replace(path)
        _FILES.sync_folder(path.parent)
    except OSError as fault:
        raise RecordError(f"{path}: cannot be purged ({fault.strerror})") from fault


def older_than(folder: Path, days: int, now: datetime) -> list[Path]:
    """The records in `folder` whose last entry is `days` days old or older at the zoned time `now`; those purged
    before, and those without a single entry, are not among them. Raises UsageError and RecordError."""
    if days < 0:
        raise UsageError(f"--days {days}: 0 or more is accepted")
    due = []
    for path in records_in(folder):
        try:
            with path.open("rb") as file:
                found = scan(lines_of(file))
        except OSError as fault:
            raise RecordError(f"{path}: cannot be read ({fault.strerror})") from fault
        if found.entries and found.entries[-1].when() <= now - timedelta(days=days):
            due.append(path)
    return due

"""Destroying what records say, when their time is over or someone asks for it.

The bytes are overwritten, as far as a program can: a solid-state drive, a snapshot or a backup may still hold them.
"""

import os
import secrets
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from companion.errors import RecordError, UsageError
from companion.plainfiles import open_plain
from companion.ports.clock import Clock
from companion.record.chain import lines_of, scan, scan_file
from companion.record.clips import destroy_clips, sound_folder
from companion.record.files import DiskFiles, destroy, overwrite, put_new
from companion.record.keys import SigningKey
from companion.record.tombstone import tombstone
from companion.record.verify import records_in

_FILES = DiskFiles()
_DAY = timedelta(days=1)


def purge(path: Path, reason: str, clock: Clock, key: SigningKey) -> None:
    """Destroy the content of the record at `path` and of what lies beside it under its name (lines set aside, sound,
    encrypted copies), and leave a tombstone signed with `key` in its place. What no part of the program could have
    put there, a folder of another kind or the target of a link, is left alone.

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
            with os.fdopen(os.dup(lock), "rb") as file:
                found = scan(lines_of(file))
            if found.stone is not None:
                raise RecordError(f"{path}: was purged before; there is nothing left to destroy")
            if not found.entries:
                raise RecordError(f"{path}: is no session record, or holds no entry that can be read; left as it is")
            stone = tombstone(found, reason, clock, key).line() + b"\n"
            # First what lies beside it: once the tombstone stands, nobody looks there any more
            for side in beside(path):
                if side == sound_folder(path):
                    destroy_clips(path)
                else:
                    destroy(side)
            put_new(_FILES, draft, stone)
            if os.name == "posix":
                old = open_plain(path, os.O_RDWR)  # the file itself, whatever its name stands for later
                held.callback(os.close, old)
                draft.replace(path)
                _FILES.sync_folder(path.parent)
                overwrite(old)
        if draft.exists():  # elsewhere nobody may hold a file open that is replaced
            destroy(path)
            draft.replace(path)
        _FILES.sync_folder(path.parent)
    except OSError as fault:
        raise RecordError(f"{path}: cannot be purged ({fault.strerror})") from fault


def beside(path: Path) -> list[Path]:
    """What lies beside the record at `path` under its whole name and goes with it, in the order of the names. A folder
    is among them only where it is the one for its sound. Raises OSError."""
    sides = sorted(side for side in path.parent.iterdir() if side.name.startswith(f"{path.name}."))
    return [side for side in sides if side.is_symlink() or not side.is_dir() or side == sound_folder(path)]


@dataclass(frozen=True)
class Due:
    """What is old enough to go, and what nobody can tell of."""

    records: tuple[Path, ...]
    unread: tuple[str, ...]
    """A sentence for each file of a record's name that could not be read or holds no entry; left as it is."""


def older_than(folder: Path, days: int, now: datetime) -> Due:
    """The records in `folder` whose last entry is `days` days old or older at the zoned time `now`; those purged
    before are not among them. Raises UsageError, and RecordError where the folder cannot be listed."""
    if days < 0:
        raise UsageError(f"--days {days}: 0 or more is accepted")
    due, unread = [], []
    for path in records_in(folder):
        try:
            found = scan_file(path)
        except OSError as fault:
            unread.append(f"{path}: cannot be read ({fault.strerror}); left as it is")
            continue
        if not found.entries and found.fault:
            unread.append(f"{path}: line {found.fault_line}: {found.fault}; left as it is")
        elif found.entries and (now - found.entries[-1].when()) / _DAY >= days:
            due.append(path)
    return Due(tuple(due), tuple(unread))

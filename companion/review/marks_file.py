"""Marks kept beside the record they are about, in a signed and chained file of their own for each marker.

The record is never touched. Each saving appends one line, made durable before it returns: it names the session and
the head it is about, holds the hash of the line before, and is signed. The last line counts, the earlier ones stay.
`RECORD.jsonl.marks-27` lies under the record's whole name, so that purging the record destroys it too.
"""

import hashlib
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from companion.errors import RecordError, UsageError
from companion.plainfiles import read_plain
from companion.ports.clock import Clock
from companion.record.canonical import canonical, parse
from companion.record.entry import CLOSED, FIRST_PREV, stamp
from companion.record.files import DiskFiles, FileLayer, add
from companion.record.keys import SigningKey, key_id, signed_by
from companion.record.privacy import looks_private
from companion.record.reader import Record
from companion.record.seal import head_of
from companion.review.marks import Marks, marks_from

VERSION = 2
"""Raised whenever the meaning of a line changes; lines of before stay readable. Since 2 a step may be decided."""

LARGEST = 4 * 1024 * 1024
"""Bytes; hundreds of savings stay far below it."""

_PURPOSE = b"procedure-companion marks\n"
"""Goes before what is signed, so that a signature made for anything else is none here."""

_BEGIN = b'{"head":"'
"""How every line begins: canonical JSON has its names in order."""

_FIELDS = {"version", "n", "prev", "session", "head", "utc", "marks", "public_key", "signature"}
_SUFFIX = re.compile(r"\.marks-([0-9]{2,3})\Z")
_DISK = DiskFiles()


@dataclass(frozen=True)
class Saved:
    """The marks that count, as one marker saved them last."""

    marks: Marks
    utc: str
    revision: int
    """From 1: how often this marker has saved."""
    signer: str
    """Short name of the key that signed it."""
    known: bool
    """Whether this machine knows that key."""


def marks_path(record: Path, marker: str) -> Path:
    """Where a marker's marks of a record are."""
    return record.with_name(f"{record.name}.marks-{marker}")


def marks_beside(record: Path) -> dict[str, Path]:
    """The files of marks beside a record, by the marker's tag."""
    found = {}
    for path in record.parent.iterdir():
        tag = _SUFFIX.fullmatch(path.name.removeprefix(record.name)) if path.name.startswith(record.name) else None
        if tag:
            found[tag[1]] = path
    return dict(sorted(found.items()))


def read_marks(record: Record, marker: str, known: Collection[str]) -> Saved | None:
    """What `marker` saved last about a closed record, verified; None where there is nothing.

    Raises RecordError naming the line that does not fit."""
    path = marks_path(record.path, marker)
    try:
        data = read_plain(path, LARGEST)
    except FileNotFoundError:
        return None
    except OSError as fault:
        raise RecordError(f"{path}: these marks cannot be read ({fault.strerror})") from fault
    lines = _verified(path, data, record, marker)
    return _saved(lines[-1], len(lines), known) if lines else None


def save_marks(
    record: Record, marks: Marks, seen: int, clock: Clock, key: SigningKey, files: FileLayer = _DISK
) -> Saved:
    """Append marks; durable on return. `seen` is the revision the marker started from, 0 for none.

    Raises UsageError when a remark may name a person or somebody saved in between, RecordError when the record is
    not closed or the disk fails.
    """
    _check_remarks(marks, clock)
    path = marks_path(record.path, marks.marker)
    try:
        fd, new = _open(path, files)
        try:
            if not files.lock(fd):
                raise UsageError("these marks are being saved elsewhere; try again")
            data = files.read(fd)
            lines = _verified(path, data, record, marks.marker)
            if len(lines) != seen:
                raise UsageError(
                    f"marker {marks.marker} has saved marks of this session in the meantime; look at those first"
                )
            whole = data[: data.rfind(b"\n") + 1]
            if not _begun(data[len(whole) :]):
                raise RecordError(f"{path}: ends in what no marks begin with; left as it is, and nothing is saved")
            if len(whole) != len(data):  # a line that was never finished was never acknowledged
                files.truncate(fd, len(whole))
                files.sync(fd)
            prev = hashlib.sha256(whole.splitlines()[-1]).hexdigest() if lines else FIRST_PREV
            value = _signed(record, marks, len(lines), prev, clock, key)
            add(files, fd, canonical(value) + b"\n")
        finally:
            files.close(fd)
        if new:
            files.sync_folder(path.parent)
    except OSError as fault:
        raise RecordError(f"{path}: these marks cannot be saved ({fault.strerror})") from fault
    return _saved(value, len(lines) + 1, {key.public})


def read_all_marks(record: Record, known: Collection[str]) -> tuple[tuple[Saved, ...], tuple[str, ...]]:
    """Every marker's marks of a closed record, and a sentence for each file of marks that cannot be believed."""
    found, faults = [], []
    for marker in marks_beside(record.path) if record.closed else ():
        try:
            saved = read_marks(record, marker, known)
        except RecordError as fault:
            faults.append(str(fault))
        else:
            found += [saved] if saved is not None else []
    return tuple(found), tuple(faults)


def _open(path: Path, files: FileLayer) -> tuple[int, bool]:
    try:
        return files.create(path), True
    except FileExistsError:
        return files.open(path), False


def _begun(torn: bytes) -> bool:
    """Whether a last line without its end may be one that was not finished: what a power loss leaves of a line is its
    beginning, or zeros."""
    said = torn.strip(b"\0")
    return said[: len(_BEGIN)] == _BEGIN[: len(said)]


def _check_remarks(marks: Marks, clock: Clock) -> None:
    for step, text in marks.texts:
        what = looks_private(text, clock.utc().date())
        if what:
            where = f"the remark on `{step}`" if step else "the remark on the whole"
            raise UsageError(f"{where} holds what looks like {what}; nobody is named in a remark, write it without")


def _head(record: Record) -> str:
    last = record.entries[-1]
    if last.kind != CLOSED or not record.closed:
        raise RecordError(f"{record.path}: this session was not closed; only a closed one can be marked")
    return head_of(last)


def _signed(record: Record, marks: Marks, n: int, prev: str, clock: Clock, key: SigningKey) -> dict[str, Any]:
    value = {
        "version": VERSION,
        "n": n,
        "prev": prev,
        "session": record.entries[0].session,
        "head": _head(record),
        "utc": stamp(clock.utc()),
        "marks": marks.model_dump(mode="json"),
        "public_key": key.public,
    }
    return value | {"signature": key.sign(_PURPOSE + canonical(value))}


def _verified(path: Path, data: bytes, record: Record, marker: str) -> list[dict[str, Any]]:
    """The lines of a file of marks; an unfinished last one was never acknowledged and is left out."""
    prev, lines = FIRST_PREV, []
    head = _head(record)
    for number, line in enumerate(data.splitlines(keepends=True)):
        if not line.endswith(b"\n"):
            break
        try:
            value = parse(line[:-1])
            wrong = _misfit(value, number, prev, record.entries[0].session, head, marker)
        except (ValueError, UsageError) as fault:
            wrong = str(fault)
        if wrong:
            raise RecordError(f"{path}: line {number + 1}: {wrong}; these marks were damaged or changed")
        prev = hashlib.sha256(line[:-1]).hexdigest()
        lines.append(value)
    return lines


def _misfit(value: Mapping[str, Any], number: int, prev: str, session: str, head: str, marker: str) -> str:
    if set(value) != _FIELDS:
        return "its fields are not those of marks"
    if value["version"] not in range(1, VERSION + 1):
        return f"written in version {value['version']} by another program; this one reads up to version {VERSION}"
    if value["n"] != number or value["prev"] != prev:
        return "its link to the line before does not fit"
    if value["session"] != session or value["head"] != head:
        return "it is about another record"
    unsigned = {name: item for name, item in value.items() if name != "signature"}
    key, signature = value["public_key"], value["signature"]
    if not isinstance(key, str) or not isinstance(signature, str):
        return "it is not signed"
    if not signed_by(key, _PURPOSE + canonical(unsigned), signature):
        return "its signature is wrong"
    if not isinstance(value["marks"], dict) or not isinstance(value["utc"], str):
        return "it holds no marks"
    return "" if marks_from(value["marks"]).marker == marker else "it is another marker's"


def _saved(value: Mapping[str, Any], revision: int, known: Collection[str]) -> Saved:
    key = str(value["public_key"])
    return Saved(marks_from(value["marks"]), str(value["utc"]), revision, key_id(key), key in known)

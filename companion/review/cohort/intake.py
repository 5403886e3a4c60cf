"""Bringing the base up to date with the folder: only records that are new or changed are read, or whose marks are.

What is read here is not verified: hashing every line of two thousand records takes many times as long as counting
them. A session is verified when it is opened, and marks are verified here, since they are few.
"""

import gc
import hashlib
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from companion import places
from companion.errors import CompanionError, RecordError
from companion.plainfiles import is_plain
from companion.record.reader import Read, glance
from companion.record.trusted import known_keys
from companion.review.cohort.base import PER_FILE, Base
from companion.review.cohort.rows import SHORT, Row, rows_of
from companion.review.timeline import loaded_of

LARGEST = 64 * 1024 * 1024
"""Bytes of a record that is counted or shown; a session comes to a few hundred thousand."""

_BATCH = 24 * 1024 * 1024
"""Bytes of records whose rows are written at once; it bounds the memory."""

_MARKS = ".marks-"


@dataclass(frozen=True)
class Taken:
    """What an intake did."""

    read: int
    """Records read; the others had not changed."""
    gone: int
    faults: tuple[str, ...]
    """A sentence for each record that cannot be counted."""


@dataclass(frozen=True)
class _There:
    """A record in the folder."""

    size: int
    stamp: str
    """Changes with the file, with the marks beside it, and with the keys that are known."""
    marked: bool


def take_in(base: Base, progress: Callable[[int, int], None] = lambda _, __: None) -> Taken:
    """Read what is new or changed. `progress` is told the bytes read so far and in all."""
    keys = known_keys(places.keys())
    there, refused = _listed(base.folder, keys)
    known = dict(base.rows("SELECT file, stamp FROM files"))
    gone = [name for name in known if name not in there]
    new = [name for name, found in there.items() if known.get(name) != found.stamp]
    with base.whole():
        old = [*gone, *(name for name in new if name in known)]
        for table in PER_FILE if old else ():
            base.run(f"DELETE FROM {table} WHERE list_contains(?, file)", [old])
    total, done = sum(there[name].size for name in new), 0
    for batch in _batches((name, there[name].size) for name in new):
        with _unswept():
            _read(base, {name: there[name] for name in batch}, keys)
        done += sum(there[name].size for name in batch)
        progress(done, total)
    faults = base.rows("SELECT file, fault FROM files WHERE fault <> '' ORDER BY file")
    faults += base.rows(
        "SELECT concat(file, '.marks-', marker), concat(fault, ', so it is not counted') FROM marks "
        "WHERE fault <> '' AND marker <> '' ORDER BY file, marker"
    )
    told = [f"{base.folder / name}: {fault}" for name, fault in faults]
    return Taken(len(new), len(gone), (*told, *(f"{base.folder}/{name}: {fault}" for name, fault in refused)))


def _listed(folder: Path, keys: Collection[str]) -> tuple[dict[str, _There], list[tuple[str, str]]]:
    """The records in a folder, and what bears the name of one or of marks and is none, with the reason."""
    stamps: dict[str, tuple[int, str]] = {}
    refused: list[tuple[str, str]] = []
    trusted = hashlib.sha256("".join(sorted(keys)).encode("ascii")).hexdigest()[:8]
    try:
        for path in sorted(folder.iterdir()):
            name = path.name
            if not name.endswith(".jsonl") and f".jsonl{_MARKS}" not in name:
                continue
            found = path.lstat()
            shown = name.encode("utf-8", "backslashreplace").decode("utf-8")
            if not is_plain(path):
                if path.is_symlink() or not path.is_dir():
                    refused.append((shown, "it is a link or a device, not a file, so it is not counted"))
            elif shown != name:
                refused.append((shown, "its name is not UTF-8; rename it to have it counted"))
            else:
                stamps[name] = found.st_size, f"{found.st_size}/{found.st_mtime_ns}/{found.st_ino}"
    except OSError as fault:
        raise RecordError(f"{folder}: this folder cannot be listed ({fault.strerror})") from fault
    sides = defaultdict[str, list[str]](list)
    for name, (_, stamp) in stamps.items():
        if not name.endswith(".jsonl"):
            sides[name.rpartition(_MARKS)[0]].append(f"{name}/{stamp}")
    records = {
        name: _There(size, "/".join((stamp, trusted, *sides[name])), name in sides and bool(sides[name]))
        for name, (size, stamp) in stamps.items()
        if name.endswith(".jsonl")
    }
    return records, refused


@contextmanager
def _unswept() -> Iterator[None]:
    """Of all that is read here nothing points back to itself: to look for such things only takes time."""
    swept = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if swept:
            gc.enable()


def _batches(sized: Iterable[tuple[str, int]]) -> Iterator[list[str]]:
    batch: list[str] = []
    size = 0
    for name, more in sized:
        if batch and size + more > _BATCH:
            yield batch
            batch, size = [], 0
        batch.append(name)
        size += more
    if batch:
        yield batch


def _read(base: Base, batch: Mapping[str, _There], keys: Collection[str]) -> None:
    """Count some records and note what is wrong with each that cannot be."""
    import duckdb

    rows = defaultdict[str, list[Row]](list)
    procedures: dict[str, Read] = {}
    for name, there in batch.items():
        fault = ""
        try:
            record = glance(base.folder / name, LARGEST)
            if record is not None and record.opening["public_key"] not in keys:
                fault = "made with a key that is not known here, so it is not counted; see: companion record trust"
            elif record is not None:
                for table, made in rows_of(record, there.marked, keys).items():
                    rows[table] += made
                procedures.setdefault(record.opening["procedure_sha256"], record)
        except CompanionError as wrong:
            fault = f"{wrong}, so it is not counted"[:SHORT]
        rows["files"].append((name, there.stamp, fault))
    try:
        with base.whole():
            for table, made in rows.items():
                base.fill(table, made)
            _learn(base, procedures)
    except (duckdb.Error, ValueError, OverflowError):
        if len(batch) > 1:  # one of them: find out which
            for name in batch:
                _read(base, {name: batch[name]}, keys)
            return
        why = "its figures are none that a session writes, so it is not counted"
        base.fill("files", [(name, there.stamp, why) for name, there in batch.items()])


def _learn(base: Base, procedures: Mapping[str, Read]) -> None:
    """Titles and order of the steps, from one record of each version of a procedure."""
    known = {sha256 for (sha256,) in base.rows("SELECT sha256 FROM procedures")}
    for sha256 in procedures.keys() - known:
        try:
            found = loaded_of(procedures[sha256]).procedure
        except CompanionError as fault:
            told = [str(fault)[:SHORT], procedures[sha256].path.name]
            base.run("UPDATE files SET fault = ? WHERE file = ?", told)
            continue
        base.fill("procedures", [(sha256, found.id, found.title)])
        lists = [("", found.steps), *((branch.id, branch.steps) for branch in found.branches)]
        every = [(step, branch) for branch, steps in lists for step in steps]
        base.fill(
            "steps", [(sha256, step.id, n, step.title, step.critical, branch) for n, (step, branch) in enumerate(every)]
        )

"""Speed of the session record: `python -m tests.bench.record`.

Append is compared with a plain unsynced write, verifying with hashing the same bytes and nothing else.
"""

import hashlib
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from rich.console import Console
from rich.table import Table

from companion.clocks import RealClock
from companion.record.keys import own_key
from companion.record.reader import read_record
from companion.record.verify import records_in, verify
from companion.record.writer import RecordWriter
from tests.record.making import FULL_OPENING, UnsyncedFiles, reply

APPENDS = 2000
LONG = 10_000
MANY = 1000
USUAL = 150


def _times_ms(act: Callable[[int], None], count: int) -> list[float]:
    times = []
    for n in range(count):
        begun = time.perf_counter()
        act(n)
        times.append((time.perf_counter() - begun) * 1000)
    return sorted(times)


def _seconds(act: Callable[[], None]) -> tuple[float, float]:
    """By the wall, and of the processor alone: on a busy machine only the second says what the program costs."""
    begun, busy = time.perf_counter(), time.process_time()
    act()
    return time.perf_counter() - begun, time.process_time() - busy


def main() -> None:
    """Print the tables."""
    home = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    with tempfile.TemporaryDirectory(dir=home) as name:
        _append(Path(name))
        _verify(Path(name))


def _append(folder: Path) -> None:
    key, clock = own_key(folder / "keys"), RealClock()
    writer = RecordWriter.create(folder / "append", FULL_OPENING, clock, key)
    synced = _times_ms(lambda n: writer.append("replied", reply(n), writer.elapsed_ms()), APPENDS)
    writer.close()
    fd = os.open(folder / "plain", os.O_CREAT | os.O_WRONLY | os.O_APPEND, 0o600)
    line = b"x" * (writer.path.stat().st_size // APPENDS)
    plain = _times_ms(lambda _: _plain(fd, line), APPENDS)
    bare = _times_ms(lambda _: _plain_synced(fd, line), APPENDS)
    os.close(fd)
    table = Table("one entry, ms", "median", "p99", "median / plain", title=f"{APPENDS} appends")
    for what, times in (("plain write", plain), ("write and fsync", bare), ("append", synced)):
        median, p99 = statistics.median(times), times[int(len(times) * 0.99)]
        table.add_row(what, f"{median:.4f}", f"{p99:.3f}", f"{median / statistics.median(plain):.1f}")
    Console().print(table)


def _plain(fd: int, line: bytes) -> None:
    os.write(fd, line)


def _plain_synced(fd: int, line: bytes) -> None:
    os.write(fd, line)
    os.fsync(fd)


def _verify(folder: Path) -> None:
    key, clock = own_key(folder / "keys"), RealClock()
    known = {key.public}
    unsynced = UnsyncedFiles()

    def make(entries: int, where: Path) -> Path:
        writer = RecordWriter.create(where, FULL_OPENING, clock, key, unsynced)
        for n in range(entries - 2):
            writer.append("replied", reply(n), writer.elapsed_ms())
        writer.finish("signed", writer.elapsed_ms())
        writer.close()
        return writer.path

    long = make(LONG, folder / "long.jsonl")
    for n in range(MANY):
        make(USUAL, folder / "many" / f"{n:04}.jsonl")

    def check(all_intact: bool) -> None:
        if not all_intact:
            raise SystemExit("a record that was just written does not verify")

    many = sorted((folder / "many").iterdir())
    rows: list[tuple[str, tuple[float, float], tuple[float, float]]] = [
        (
            f"verify one of {LONG} entries ({long.stat().st_size / 1e6:.1f} MB)",
            _seconds(lambda: check(verify(long, None, known).ok)),
            _seconds(lambda: check(bool(_hashed(long)))),
        ),
        (
            "read the same for replay",
            _seconds(lambda: check(read_record(long).closed)),
            _seconds(lambda: check(bool(_hashed(long)))),
        ),
        (
            f"verify a folder of {MANY}, {USUAL} entries each",
            _seconds(lambda: check(all(verify(path, None, known).ok for path in records_in(folder / "many")))),
            _seconds(lambda: check(all(_hashed(path) for path in many))),
        ),
    ]
    table = Table("", "seconds", "of processor", "hashing alone", "ratio", title="Reading back")
    for what, (taken, busy), (_, base) in rows:
        table.add_row(what, f"{taken:.3f}", f"{busy:.3f}", f"{base:.3f}", f"{busy / base:.0f}")
    Console().print(table)


def _hashed(path: Path) -> list[str]:
    with path.open("rb") as file:
        return [hashlib.sha256(line).hexdigest() for line in file]


if __name__ == "__main__":
    main()

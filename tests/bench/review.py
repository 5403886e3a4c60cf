"""The review of 2,000 sessions: `python -m tests.bench.review [FOLDER]`.

FOLDER keeps the simulated sessions between runs. The import is compared with DuckDB's own JSON reader on the same
folder in the same run, each in a process of its own. On a busy machine the processor's seconds say more.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from rich.console import Console
from rich.table import Table

from companion import places
from companion.clocks import RealClock
from companion.record.trusted import trust
from companion.review.cohort.base import Base
from companion.review.cohort.intake import take_in
from companion.web.room.room import Room
from companion.web.room.routes import room_routes
from companion.web.server import LocalServer
from tests.bench.review_sessions import ENTRIES, simulate
from tests.record.making import key
from tests.web.test_security import ask, cookie

COUNT = 2000


def _reader(folder: Path) -> float:
    """Seconds that DuckDB takes to read the folder into a table, with nothing said about what is in it."""
    import duckdb

    begun = time.perf_counter()
    with duckdb.connect() as base:
        base.execute(
            "CREATE TABLE raw AS SELECT * FROM read_json(?, format = 'newline_delimited')", [f"{folder}/*.jsonl"]
        )
    return time.perf_counter() - begun


def _import(folder: Path, cache: Path) -> float:
    os.environ["COMPANION_HOME"] = str(cache)  # where the key of these sessions is known, and nobody's own are
    trust(places.keys(), key().public, "tests")
    begun = time.perf_counter()
    with Base(folder, cache) as base:
        take_in(base)
    return time.perf_counter() - begun


def _opens(folder: Path, cache: Path) -> float:
    """Seconds from opening what was imported to the whole class view, over HTTP."""
    begun = time.perf_counter()
    with Base(folder, cache) as base, LocalServer(room_routes(Room(folder, base, RealClock(), key()))) as server:
        answer = ask(server, "GET", "/class", Cookie=cookie(server))
        took = time.perf_counter() - begun
    if answer.status != 200 or "Missed, late, out of order" not in answer.text:
        raise SystemExit("the class view did not open")
    return took


def _apart(what: str, *paths: Path) -> tuple[float, float, float]:
    """Seconds, the processor's seconds and peak memory in MB, in a process of its own."""
    command = [sys.executable, "-m", "tests.bench.review", f"--{what}", *map(str, paths)]
    seconds, busy, memory = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
    return float(seconds), float(busy), float(memory)


def main(folder: Path) -> None:
    """Print the table."""
    made = len(list(folder.glob("*.jsonl"))) if folder.is_dir() else 0
    if made != COUNT:
        simulate(folder, COUNT)
    size = sum(path.stat().st_size for path in folder.glob("*.jsonl")) / 1e6
    with tempfile.TemporaryDirectory() as name:
        cache = Path(name)
        rows = {
            "DuckDB's own JSON reader": _apart("reader", folder),
            "first import": _apart("import", folder, cache),
            "class view after it": _apart("opens", folder, cache),
        }
    title = f"{COUNT} sessions of {ENTRIES} entries, {size:.0f} MB"
    table = Table("", "seconds", "of processor", "ratio", "peak memory, MB", title=title)
    (base, *_), *_ = rows.values()
    for what, (seconds, busy, memory) in rows.items():
        table.add_row(what, f"{seconds:.2f}", f"{busy:.2f}", f"{seconds / base:.2f}", f"{memory:.0f}")
    Console().print(table)


if __name__ == "__main__":
    acts = {"--reader": _reader, "--import": _import, "--opens": _opens}
    if sys.argv[1:2] and sys.argv[1] in acts:
        took = acts[sys.argv[1]](*map(Path, sys.argv[2:]))  # type: ignore[operator]
        used = resource.getrusage(resource.RUSAGE_SELF)
        print(took, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)
    elif len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory() as home:
            main(Path(home) / "class")

"""The file in the user's cache that a folder of records is read into. It can be thrown away at any time."""

import hashlib
import importlib.util
import os
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Self

from companion import places
from companion.errors import UsageError
from companion.record.files import DiskFiles, destroy

VERSION = 4
"""Raised with every change of the tables; a file of another version is made anew."""

_CONFIG: dict[str, Any] = {
    # Nothing is fetched, whatever a statement would need
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "memory_limit": "256MB",
}

_TRIES = 100
_PAUSE_S = 0.05

_TABLES = """
CREATE TABLE about (version INTEGER);
CREATE TABLE files (file VARCHAR PRIMARY KEY, stamp VARCHAR, fault VARCHAR);
CREATE TABLE sessions (
  file VARCHAR, begun VARCHAR, procedure VARCHAR, sha256 VARCHAR, mode VARCHAR, performer VARCHAR, way VARCHAR,
  outcome VARCHAR, took_ms BIGINT, closed BOOLEAN);
CREATE TABLE due (file VARCHAR, step VARCHAR);
CREATE TABLE done (file VARCHAR, step VARCHAR, note VARCHAR, at_ms BIGINT, took_ms BIGINT, left_out BOOLEAN);
CREATE TABLE again (file VARCHAR, step VARCHAR);
CREATE TABLE missed (file VARCHAR, step VARCHAR, nearest VARCHAR);
CREATE TABLE replied (file VARCHAR, phrase VARCHAR);
CREATE TABLE findings (file VARCHAR, kind VARCHAR, step VARCHAR, needed VARCHAR);
CREATE TABLE doubts (file VARCHAR, step VARCHAR, settled VARCHAR);
CREATE TABLE marks (
  file VARCHAR, marker VARCHAR, utc VARCHAR, known BOOLEAN, rating INTEGER, score DOUBLE, fault VARCHAR);
CREATE TABLE items (file VARCHAR, marker VARCHAR, step VARCHAR, mark VARCHAR);
CREATE TABLE procedures (sha256 VARCHAR PRIMARY KEY, procedure VARCHAR, title VARCHAR);
CREATE TABLE steps (sha256 VARCHAR, step VARCHAR, place INTEGER, title VARCHAR, critical BOOLEAN, branch VARCHAR);
CREATE VIEW stood AS SELECT file, step FROM done WHERE NOT left_out
  UNION SELECT file, step FROM doubts WHERE settled = 'said';
CREATE VIEW lapsed AS SELECT file, step FROM done WHERE left_out
  UNION SELECT file, step FROM findings WHERE kind = 'omitted'
  UNION SELECT file, step FROM doubts WHERE settled = 'not said';
"""

PER_FILE = ("files", "sessions", "due", "done", "again", "missed", "replied", "findings", "doubts", "marks", "items")
"""Tables whose rows belong to a record."""


class Base:
    """An open DuckDB file. Used from one thread at a time."""

    def __init__(self, folder: Path, cache: Path) -> None:
        """The base for the records in `folder`, kept in `cache`. Raises UsageError when it cannot be had."""
        self.folder = folder.resolve()
        self.path = base_path(folder, cache)
        self._db = self._open()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def rows(self, statement: str, values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        """What a query gives."""
        return list(self._db.execute(statement, list(values)).fetchall())

    def run(self, statement: str, values: Sequence[Any] = ()) -> None:
        """Carry a statement out. Raises duckdb.Error."""
        self._db.execute(statement, list(values))

    def fill(self, table: str, rows: Sequence[Sequence[Any]]) -> None:
        """Add rows, all at once: one by one takes a hundred times as long."""
        if rows:
            columns = [list(column) for column in zip(*rows, strict=True)]
            self.run(f"INSERT INTO {table} SELECT {', '.join(['unnest(?)'] * len(columns))}", columns)

    @contextmanager
    def whole(self) -> Iterator[None]:
        """What is done in the block is done whole or not at all."""
        self.run("BEGIN")
        try:
            yield
        except BaseException:
            self.run("ROLLBACK")
            raise
        self.run("COMMIT")

    def close(self) -> None:
        """Let the file go; what another thread still asks of it is broken off."""
        import duckdb

        for _ in range(_TRIES):
            self._db.interrupt()
            with suppress(duckdb.Error):  # busy: the other thread has not noticed yet
                self._db.close()
                return
            time.sleep(_PAUSE_S)

    def _open(self) -> Any:
        if importlib.util.find_spec("duckdb") is None:
            raise UsageError("the review needs DuckDB, which is not installed: pip install duckdb")
        import duckdb

        DiskFiles().make_folder(self.path.parent)
        for attempt in (1, 2):
            try:
                db = duckdb.connect(str(self.path), config=_CONFIG)
                if os.name == "posix":
                    self.path.chmod(0o600)
                if _version(db) == VERSION:
                    return db
                db.close()
            except duckdb.Error as fault:
                if "lock" in str(fault).lower() or "being used" in str(fault).lower():
                    raise UsageError(f"{self.folder}: another review of this folder is open; close that one") from fault
            except OSError as fault:
                raise UsageError(f"{self.path}: the cache cannot be written ({fault.strerror})") from fault
            if attempt == 1:  # of another version, or damaged: what is in it can be read again from the records
                forget(self.folder, self.path.parent)
        raise UsageError(f"{self.path}: the cache cannot be made; free some space or remove that file")


def cache_folder() -> Path:
    """Where this machine's user has such files."""
    return places.cache() / "review"


def base_path(folder: Path, cache: Path) -> Path:
    """Where what was read from `folder` is kept."""
    name = hashlib.sha256(str(folder.resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:24]
    return cache / f"{name}.duckdb"


def forget(folder: Path, cache: Path) -> bool:
    """Destroy what was read from `folder`; True when there was something. Raises UsageError."""
    there = False
    for path in (base_path(folder, cache), base_path(folder, cache).with_suffix(".duckdb.wal")):
        try:
            if path.exists():
                destroy(path)
                there = True
        except OSError as fault:
            raise UsageError(f"{path}: what a review keeps there cannot be destroyed ({fault.strerror})") from fault
    return there


def _version(db: Any) -> int:
    """Of the tables in it, made where there are none."""
    names = {name for (name,) in db.execute("SELECT table_name FROM information_schema.tables").fetchall()}
    if not names:
        db.execute("BEGIN")
        db.execute(_TABLES)
        db.execute("INSERT INTO about VALUES (?)", [VERSION])
        db.execute("COMMIT")
        return VERSION
    found = db.execute("SELECT version FROM about").fetchall() if "about" in names else []
    return int(found[0][0]) if found else 0

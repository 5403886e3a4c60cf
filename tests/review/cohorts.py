"""Folders of simulated records for the class view, and what is done with them. What is said is invented.

Records as the commands leave them: `tests/left_records.py`.
"""

from datetime import UTC, datetime
from pathlib import Path

from companion.record.reader import read_record
from companion.review.cohort.base import Base
from companion.review.cohort.intake import take_in
from companion.review.marks import Marks
from companion.review.marks_file import save_marks
from tests.bench.review_sessions import session, written
from tests.record.making import UnsyncedFiles, clock, key

BEGUN = datetime(2030, 5, 6, 9, tzinfo=UTC)
SCRIPT = {"dose": "eighteen units"}


def guided(folder: Path, count: int, procedure: str = "simple-dressing") -> list[Path]:
    """Simulated sessions with chance in them, always the same ones."""
    from tests.bench.review_sessions import simulate

    return simulate(folder, count, procedure, entries=None)


def mark(path: Path, given: Marks) -> None:
    """Marks saved with the key that every test knows."""
    save_marks(read_record(path), given, 0, clock(), key(), UnsyncedFiles())


def base_of(folder: Path, cache: Path) -> Base:
    """The folder read into a base; close it."""
    base = Base(folder, cache)
    take_in(base)
    return base


__all__ = ["base_of", "guided", "mark", "session", "written"]

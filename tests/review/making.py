"""Closed records to mark, and marks. What is said is invented."""

from pathlib import Path
from typing import Any

from companion.record.reader import Record, read_record
from companion.review.marks import Marks, marks_from
from tests.record.making import key, written

KNOWN = frozenset({key().public})


def record(folder: Path, entries: int = 6, close: bool = True) -> Record:
    """A small record of its own in `folder`."""
    return read_record(written(folder / f"{entries}-entries.jsonl", entries, close=close).path)


def marks(marker: str = "27", **more: Any) -> Marks:
    """Marks of two steps."""
    items = [{"step": "rub", "mark": "done"}, {"step": "dry", "mark": "in part", "remark": "Not between the fingers."}]
    return marks_from({"marker": marker, "items": items, "rating": 3, "remark": "Calm and complete.", **more})

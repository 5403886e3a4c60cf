"""What the base holds of one session: rows made of what the fold says of it, and of what educators marked."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import Any

from companion.errors import CompanionError
from companion.record.entry import CLOSED
from companion.record.reader import Read, read_record
from companion.review.marks import Marks
from companion.review.marks_file import marks_beside, read_marks
from companion.review.timeline import course_of
from companion.review.verdict import verdict

Row = tuple[Any, ...]

SHORT = 300
"""Characters of any text that are kept; nothing that a session writes comes near it."""


def rows_of(record: Read, marked: bool, keys: Collection[str]) -> Mapping[str, list[Row]]:
    """The rows of a record for each table; `marked` where marks lie beside it. Raises RecordError, ProcedureError."""
    course, opening, name = course_of(record), record.opening, record.path.name
    rows = defaultdict[str, list[Row]](list)
    marks = list(_marks(record.path, keys, rows)) if marked else []
    found = verdict(course, marks)
    begun, closed = min(entry.utc for entry in record.entries), record.entries[-1].kind == CLOSED
    of = (name, begun, opening["procedure_id"], opening["procedure_sha256"], course.mode, course.performer)
    rows["sessions"] = [(*of, course.way, found.outcome, course.took_ms, closed)]
    rows["due"] = [(name, step) for step in course.due]
    rows["done"] = [(name, each.step, each.note, each.at_ms, each.took_ms, each.left_out) for each in course.confirmed]
    rows["again"] = [(name, step) for step in course.again]
    rows["missed"] = [(name, step, event.nearest) for step, event in course.unclear]
    rows["replied"] = [(name, event.phrase) for _, event in course.replied if event.how != "own words"]
    rows["doubts"] = [(name, doubt.step, doubt.settled or "") for doubt in found.doubts]
    if course.judgement is not None:
        rows["findings"] = [(name, each.kind, each.step, each.needed) for each in course.judgement.findings]
    return {table: [tuple(map(_short, row)) for row in made] for table, made in rows.items()}


def _marks(path: Path, keys: Collection[str], rows: defaultdict[str, list[Row]]) -> Iterator[Marks]:
    """The marks beside a record that are believed, both verified; a row for each file of them, which says why it is not
    where it is not."""
    name = path.name
    try:
        record = read_record(path)
    except CompanionError as fault:
        rows["marks"].append((name, "", "", False, None, None, str(fault)))
        return
    for marker in marks_beside(path) if record.closed else ():
        try:
            saved = read_marks(record, marker, keys)
        except CompanionError as fault:
            rows["marks"].append((name, marker, "", False, None, None, str(fault)))
            continue
        if saved is None:
            continue
        if not saved.known:
            why = f"signed with the unknown key {saved.signer}"
            rows["marks"].append((name, marker, saved.utc, False, None, None, why))
            continue
        rows["marks"].append((name, marker, saved.utc, True, saved.marks.rating, saved.marks.score, ""))
        rows["items"] += [(name, marker, item.step, item.mark) for item in saved.marks.items]
        yield saved.marks


def _short(value: Any) -> Any:
    return value[:SHORT] if isinstance(value, str) else value

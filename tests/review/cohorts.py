"""A folder of records for the class view: the drill, guided and from memory. What is said is invented."""

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from companion.clocks import SimulatedClock
from companion.core.events import Started
from companion.core.findings import JUDGED, Finding, Heard, Judgement, Mark, judgement_to_json
from companion.loading import load
from companion.record.reader import read_record
from companion.record.writer import RecordWriter
from companion.review.cohort.base import Base
from companion.review.cohort.intake import take_in
from companion.review.marks import Marks
from companion.review.marks_file import save_marks
from tests.bench.review_sessions import session, written
from tests.record.making import UnsyncedFiles, clock, key
from tests.session.rig import DRILL

BEGUN = datetime(2030, 5, 6, 9, tzinfo=UTC)
SCRIPT = {"dose": "eighteen units"}


def guided(folder: Path, count: int, procedure: str = "simple-dressing") -> list[Path]:
    """Simulated sessions with chance in them, always the same ones."""
    from tests.bench.review_sessions import simulate

    return simulate(folder, count, procedure, entries=None)


def from_memory(folder: Path, number: int, findings: Sequence[dict[str, Any]], passed: bool = True) -> Path:
    """A rehearsal of the drill as its judge wrote it down; every step that is not omitted took 10 s."""
    loaded, now = load(DRILL), SimulatedClock(BEGUN)
    opening = {"procedure_id": "drill", "procedure_text": loaded.text, "mode": "rehearsal"}
    writer = RecordWriter.create(folder / f"memory-{number}.jsonl", opening, now, key(), UnsyncedFiles())
    started = Started(at_ms=0, performer="55", today="2030-05-06")
    writer.append("event", {"event": started.model_dump(mode="json"), "says": [], "status": "running", "step": ""}, 0)
    found = tuple(Finding.model_validate({"title": each["step"], "reason": "As said.", **each}) for each in findings)
    gone = {finding.step for finding in found if finding.kind == "omitted"}
    steps = [step for step in loaded.procedure.steps if step.id not in gone]
    marks = []
    for place, step in enumerate(steps, start=1):
        heard = Heard(text=step.id, at_ms=10_000 * place, until_ms=10_000 * place + 900, n=place)
        marks.append(Mark(step=step.id, title=step.title, critical=step.critical, heard=heard, at_ms=10_000 * place))
    judgement = Judgement(
        help="none",
        performer="55",
        passed=passed,
        marks=tuple(marks),
        findings=found,
        expected=tuple(step.id for step in loaded.procedure.steps),
        took_ms=10_000 * len(marks),
    )
    writer.append(JUDGED, judgement_to_json(judgement), judgement.took_ms)
    writer.finish("judged", judgement.took_ms)
    writer.close()
    return writer.path


def mark(path: Path, given: Marks) -> None:
    """Marks saved with the key that every test knows."""
    save_marks(read_record(path), given, 0, clock(), key(), UnsyncedFiles())


def base_of(folder: Path, cache: Path) -> Base:
    """The folder read into a base; close it."""
    base = Base(folder, cache)
    take_in(base)
    return base


__all__ = ["base_of", "from_memory", "guided", "mark", "session", "written"]

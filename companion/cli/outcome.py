"""How a rehearsal ends: its findings shown, its record closed, its report beside the record."""

from collections.abc import Callable

from companion.cli.ending import show_record
from companion.cli.terminal import tell
from companion.cli.wrapped import line
from companion.exports.formats import write
from companion.procedure.model import Procedure
from companion.record.writer import RecordWriter
from companion.rehearsal.rehearsal import Rehearsal
from companion.rehearsal.report import to_report
from companion.session.findings import Finding, Judgement

REPORT = ".rehearsal.html"


def finish(
    rehearsal: Rehearsal,
    procedure: Procedure,
    writer: RecordWriter,
    student: str,
    at_end: Callable[[Judgement], None] = lambda _: None,
) -> None:
    """Run it for a student, close its record, and leave the report beside it; `at_end` is called with the judgement."""
    show_record(writer)
    judgement = rehearsal.run(student)
    at_end(judgement)
    for finding in judgement.findings:
        show_finding(finding, judgement)
    report = writer.path.with_name(writer.path.name + REPORT)
    begun = f"{writer.last.utc[:10]} {writer.last.utc[11:16]} UTC"
    writer.finish(judgement.outcome, rehearsal.now_ms())
    write(report, to_report(procedure, judgement, begun))
    tell(f"Outcome: {judgement.outcome}")
    tell(f"Report:  {report}")
    tell(f"Record:  {writer.path}")


def show_finding(finding: Finding, judgement: Judgement) -> None:
    """One line; what fails it and what is in doubt is marked."""
    tell(line(finding.reason, "! " if finding.critical else "? " if finding in judgement.doubtful else "- "))

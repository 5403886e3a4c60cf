"""One row a confirmed step, or a step that was due in a rehearsal, as CSV and as Parquet. A session in which no step
stands has one row without a step, so that no session is missing.

Times are whole milliseconds, figures are text.
"""

import tempfile
from collections.abc import Sequence
from dataclasses import astuple, dataclass, fields
from pathlib import Path

from companion.errors import UsageError
from companion.exports.source import Source
from companion.exports.spreadsheet import to_csv
from companion.review.told import Confirmed


@dataclass(frozen=True)
class Row:
    """A step that stands confirmed, or one that a rehearsal should have said. Phrases are joined by `; `, which no
    phrase holds; a rehearsal's utterance stands alone."""

    session: str
    procedure: str
    procedure_version: str
    mode: str
    performer: str
    way: str
    """`guided` or `from memory`."""
    outcome: str
    """The session's: one of `verdict.OUTCOMES`."""
    made_with: str
    """`known key` or `unknown key`, and its short name."""
    n: int
    """Number of the entry that confirmed it, or that judged it."""
    place: int
    """From 1, in the order they were confirmed; 0 for what was not said, or not surely."""
    step: str
    title: str
    kind: str
    critical: bool
    phrases: str
    value: str
    unit: str
    given_by: str
    """`voice`, `key`, or both."""
    engine: str
    utc: str
    at_ms: int
    took_ms: int
    tries: int
    """Replies that were not clearly heard."""
    note: str


COLUMNS = tuple(field.name for field in fields(Row))
_TYPES = {int: "BIGINT", bool: "BOOLEAN", str: "VARCHAR"}


def rows(source: Source) -> list[Row]:
    """The rows of one record: what stands, and then what a judged rehearsal perhaps said or left out, or what of it
    nobody can judge."""
    told = source.told
    made = [_row(source, done, place) for place, done in enumerate(told.confirmed, start=1)]
    for finding in told.judgement.findings if told.judgement else ():
        assert told.judgement is not None and source.told.ended_by is not None  # it was judged
        doubtful = finding in told.judgement.doubtful
        unjudged = finding.kind == "unclear" and finding.step in told.judgement.unrecognisable
        if finding.kind != "omitted" and not doubtful and not unjudged:
            continue
        doubt = source.verdict.doubt(finding.step)
        at_ms = finding.heard[0].at_ms if finding.heard else source.entry(source.told.ended_by).at_ms
        unsaid = Confirmed(
            step=finding.step,
            title=finding.title,
            note=f"perhaps said; {doubt.in_words}" if doubt else "cannot be judged" if unjudged else "not said",
            n=source.told.ended_by,
            at_ms=at_ms,
            took_ms=0,
            phrases=tuple(heard.text for heard in finding.heard) if doubtful else (),
        )
        made.append(_row(source, unsaid, 0))
    none = Confirmed("", "no step stands", source.last.n, source.told.took_ms, took_ms=0, title="")
    return made or [_row(source, none, 0)]


def _row(source: Source, done: Confirmed, place: int) -> Row:
    told = source.told
    step = told.procedure.step(done.step) if done.step else None
    value = told.state.values.get(done.step)
    return Row(
        session=str(source.session),
        procedure=told.procedure.id,
        procedure_version=told.procedure.version,
        mode=told.mode,
        performer=source.told.performer,
        way=told.way,
        outcome=source.verdict.outcome,
        made_with=source.made_with,
        n=done.n,
        place=place,
        step=done.step,
        title=done.title,
        kind=step.kind if step else "",
        critical=step is not None and step.critical,
        phrases="; ".join(done.phrases),
        value="" if value is None else value.text,
        unit="" if value is None else value.unit,
        given_by=done.by,
        engine=done.engine,
        utc=source.entry(done.n).utc,
        at_ms=done.at_ms,
        took_ms=done.took_ms,
        tries=done.tries,
        note=done.note,
    )


def steps_csv(table: Sequence[Row]) -> bytes:
    """The table as CSV."""
    return to_csv(COLUMNS, [astuple(row) for row in table])


def to_parquet(table: Sequence[Row]) -> bytes:
    """A Parquet file. Raises UsageError naming the line that installs what is missing."""
    try:
        import duckdb
    except ImportError as error:
        raise UsageError(
            "Parquet needs DuckDB, which is not installed: pip install duckdb; CSV needs nothing more"
        ) from error
    columns = ", ".join(f"{field.name} {_TYPES[_type(field.type)]}" for field in fields(Row))
    with tempfile.TemporaryDirectory() as folder, duckdb.connect() as base:
        path = Path(folder) / "steps.parquet"
        base.execute(f"CREATE TABLE steps ({columns})")
        if table:
            marks = ", ".join("?" for _ in COLUMNS)
            base.executemany(f"INSERT INTO steps VALUES ({marks})", [astuple(row) for row in table])
        base.table("steps").write_parquet(str(path), compression="zstd")
        return path.read_bytes()


def _type(annotation: object) -> type:
    assert isinstance(annotation, type)  # the fields of Row are plain types
    return annotation

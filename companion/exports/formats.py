"""The formats by name, and the files they go to."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from companion.errors import UsageError
from companion.exports.fhir import to_fhir
from companion.exports.source import Source
from companion.exports.summary import to_summary
from companion.exports.tables import Row, rows, steps_csv, to_parquet
from companion.exports.webvtt import captions, chapters
from companion.exports.xapi import to_xapi
from companion.record.files import DiskFiles, put_over


@dataclass(frozen=True)
class Format:
    """`make` gives the file's bytes; only a table takes more than one source."""

    name: str
    suffix: str
    about: str
    make: Callable[[Sequence[Source]], bytes]
    table: bool = False


FORMATS = {
    each.name: each
    for each in (
        Format("captions", ".captions.vtt", "WebVTT: what was said", lambda given: captions(given[0])),
        Format("chapters", ".chapters.vtt", "WebVTT: the steps", lambda given: chapters(given[0])),
        Format("xapi", ".xapi.json", "xAPI 1.0.3 statements", lambda given: to_xapi(given[0])),
        Format("fhir-r4b", ".fhir-r4b.json", "HL7 FHIR R4B bundle", lambda given: to_fhir(given[0], "R4B")),
        Format("fhir-r5", ".fhir-r5.json", "HL7 FHIR R5 bundle", lambda given: to_fhir(given[0], "R5")),
        Format("csv", ".steps.csv", "table of steps", lambda given: steps_csv(_rows(given)), table=True),
        Format("parquet", ".steps.parquet", "table of steps", lambda given: to_parquet(_rows(given)), table=True),
        Format("summary", ".summary.html", "a page for the paper file", lambda given: to_summary(given[0])),
    )
}


ALL = "all"
"""Begins the name of a table over all records of a folder."""


def find_format(name: str) -> Format:
    """The format of that name. Raises UsageError naming them all."""
    if name not in FORMATS:
        several = [each for each in FORMATS if each.startswith(f"{name}-")]
        if several:
            raise UsageError(f"`{name}` comes in more than one release; accepted: {' or '.join(several)}")
        raise UsageError(f"`{name}` is no format to export to; accepted: {', '.join(FORMATS)}")
    return FORMATS[name]


def beside(record: Path, wanted: Format) -> Path:
    """Where an export goes when nothing else is said: beside the record and under its whole name, so that purging
    the record destroys the export too."""
    return record.with_name(record.name + wanted.suffix)


def tables_of(folder: Path) -> list[Path]:
    """The tables over all records of `folder` that lie in it under the name they are given when none is said."""
    paths = [folder / f"{ALL}{each.suffix}" for each in FORMATS.values() if each.table]
    return [path for path in paths if path.is_file()]


def write(path: Path, data: bytes, replace: bool = False) -> None:
    """Write an export, readable by its owner alone. What is there stays whole until the new file is.

    Raises UsageError when something is there and `replace` is not said, or the file cannot be written.
    """
    if path.suffix == ".jsonl":
        raise UsageError(f"{path}: an export never takes the name of a record; accepted: any ending but .jsonl")
    if path.exists() and not replace:
        raise UsageError(f"{path}: is there already; say --replace to write it anew")
    try:
        put_over(DiskFiles(), path, data)
    except OSError as fault:
        raise UsageError(f"{path}: cannot be written ({fault.strerror})") from fault


def _rows(given: Sequence[Source]) -> list[Row]:
    return [row for source in given for row in rows(source)]

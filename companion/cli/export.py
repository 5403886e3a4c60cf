"""`companion export`: a session record in open standards."""

import os
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Annotated

import typer

from companion import places
from companion.cli.terminal import tell
from companion.errors import CompanionError, RecordError, UsageError
from companion.exports.formats import ALL, FORMATS, Format, beside, find_format, write
from companion.exports.lrs import Store
from companion.exports.source import Source, load_source
from companion.exports.xapi import Judgement, statements, to_xapi
from companion.record.content import believing
from companion.record.trusted import known_keys
from companion.record.verify import records_in

_TO = "; ".join(f"{each.name}: {each.about}" for each in FORMATS.values())


def export(
    record: Annotated[Path, typer.Argument(help="A session record (.jsonl); for csv and parquet also a folder.")],
    to: Annotated[list[str] | None, typer.Option("--to", help=f"One or more times. {_TO}.")] = None,
    out: Annotated[Path | None, typer.Option(help="The file, or a folder; else beside the record.")] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Write over an export that is there.")] = False,
    send: Annotated[str | None, typer.Option(help="Address of an xAPI record store to send the statements to.")] = None,
    judged: Annotated[str | None, typer.Option(help="With xapi: what the educator decided, passed or failed.")] = None,
    score: Annotated[str | None, typer.Option(help="With --judged: the score, from -1 to 1, such as 0.85.")] = None,
) -> None:
    """Tell a record in open standards. It is verified first, and stays as it is."""
    wanted = [find_format(name) for name in dict.fromkeys(to or [])]
    if not wanted and send is None:
        raise UsageError(f"say what to export to with --to; accepted: {', '.join(FORMATS)}")
    judgement = _judgement(judged, score)
    if judgement is not None and send is None and all(each.name != "xapi" for each in wanted):
        raise UsageError("--judged goes with --to xapi or --send; nothing else holds a judgement")
    sources = _folder(record, wanted, send) if record.is_dir() else [load_source(record, known_keys(places.keys()))]
    for source in sources:
        if source.unfinished:
            tell(f"* {source.record.path}: {source.unfinished}")
        if source.stranger:
            tell(f"companion: {source.record.path}: {source.stranger}", err=True)
        for line in source.left_out:
            tell(f"* Marks left out: {line}")
    store = None if send is None else _store(send, sources[0])
    made = []
    for each in wanted:  # all of them before any is written: one that cannot be made would leave half of them
        path = _target(record, each, out, len(wanted))
        with believing(f"{record}: as {each.name}"):
            made.append((path, to_xapi(sources[0], judgement) if each.name == "xapi" else each.make(sources)))
    for path, told in made:
        write(path, told, replace)
        tell(str(path))
    if store is not None:
        sent = store.send(statements(sources[0], judgement))
        tell(f"{send}: {sent.taken} statements taken" + (f", {sent.known} were there before" if sent.known else ""))


def _judgement(judged: str | None, score: str | None) -> Judgement | None:
    if judged is None and score is None:
        return None
    if judged not in ("passed", "failed"):
        raise UsageError(f"--judged {judged or 'is missing'}: accepted: passed or failed")
    if score is None:
        raise UsageError("--score is missing: accepted: a figure from -1 to 1, such as 0.85")
    try:
        return Judgement(judged == "passed", Decimal(score))
    except InvalidOperation as fault:
        raise UsageError(f"--score {score}: accepted: a figure from -1 to 1, such as 0.85") from fault


def _folder(folder: Path, wanted: Sequence[Format], send: str | None) -> list[Source]:
    """Every record of a folder that can be believed; the others are named."""
    if send is not None or not all(each.table for each in wanted):
        names = ", ".join(each.name for each in FORMATS.values() if each.table)
        raise UsageError(f"{folder}: a folder goes to a table only; accepted: {names}, or one record")
    sources = []
    for path in records_in(folder):
        try:
            sources.append(load_source(path, known_keys(places.keys())))
        except CompanionError as fault:
            tell(f"companion: left out: {fault}", err=True)
    if not sources:
        raise RecordError(f"{folder}: no record (*.jsonl) in this folder can be exported")
    return sources


def _store(address: str, source: Source) -> Store:
    if source.told.ended_by is None:
        raise UsageError(
            f"{source.record.path}: this session has not ended; statements cannot be taken back, so only an ended "
            "one is sent"
        )
    return Store(address, os.environ.get("COMPANION_LRS_KEY", ""), os.environ.get("COMPANION_LRS_SECRET", ""))


def _target(record: Path, wanted: Format, out: Path | None, count: int) -> Path:
    if out is None:
        return record / f"{ALL}{wanted.suffix}" if record.is_dir() else beside(record, wanted)
    if out.is_dir():
        return out / (f"{ALL}{wanted.suffix}" if record.is_dir() else record.name + wanted.suffix)
    if count > 1:
        raise UsageError(f"{out}: is no folder; several exports go to a folder that is there")
    return out

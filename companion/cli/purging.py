"""Purging records and the days they are kept: `companion record purge` and `companion record retention`."""

from pathlib import Path
from typing import Annotated

import typer

from companion import places
from companion.cli.passphrase import signing_key
from companion.cli.terminal import tell
from companion.clocks import RealClock
from companion.errors import RecordError, UsageError
from companion.exports.formats import tables_of
from companion.record.files import destroy
from companion.record.purge import beside, older_than, purge
from companion.record.retention import retention_days, set_retention
from companion.record.tombstone import check_reason
from companion.record.verify import verify
from companion.review.cohort.base import base_path, cache_folder, forget


def purge_command(
    path: Annotated[
        Path | None, typer.Argument(help="A record (.jsonl), or a folder of them; else this machine's records.")
    ] = None,
    days: Annotated[
        int | None, typer.Option(help="In a folder: records whose last entry is this old; else the retention set.")
    ] = None,
    reason: Annotated[str, typer.Option(help="A few plain words, kept for good; no details.")] = "retention",
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only say what would be destroyed.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask first.")] = False,
) -> None:
    """Destroy what records say, with their sound and exports. A tombstone stays, so that the chain and the receipt can
    still be verified."""
    clock = RealClock()
    unread: tuple[str, ...] = ()
    where = places.records() if path is None else path
    check_reason(reason)
    if where.is_dir() or path is None:
        days = _days(where) if days is None else days
        found = older_than(where, days, clock.utc())
        due, unread = list(found.records), found.unread
    elif days is not None:
        raise UsageError(f"{where}: --days goes with a folder; a single record is purged whatever its age")
    else:
        due = [where]
    for line in unread:
        tell(line, err=True)
    if not due:
        tell(f"{where}: no record is {days} days old; nothing was purged")
        raise typer.Exit(1 if unread else 0)
    count = f"{len(due)} record{'' if len(due) == 1 else 's'}"
    if dry_run or not yes:
        for each in _doomed(due):
            tell(f"to be destroyed: {each}")
    if dry_run:
        tell(f"{where}: {count} would be purged; nothing was")
        raise typer.Exit(1 if unread else 0)
    if not yes:
        typer.confirm(f"Destroy the content of {count} for good?", abort=True)
    key = signing_key()
    for folder in dict.fromkeys(each.parent for each in due):
        _take_tables(folder)
        if forget(folder, cache_folder()):
            tell(f"{folder}: what a review had read from it is destroyed; the next one reads what is left")
    failed = 0
    for each in due:
        try:
            purge(each, reason, clock, key)
        except RecordError as fault:
            failed += 1
            if len(due) == 1:
                raise
            tell(f"companion: {fault}", err=True)
            continue
        tell(verify(each, None, {key.public}).sentence())
    if failed:
        tell(f"{where}: {failed} of {count} could not be purged", err=True)
    if failed or unread:
        raise typer.Exit(1)


def retention_command(
    days: Annotated[str | None, typer.Argument(help="For how many days records are kept, or `off`.")] = None,
) -> None:
    """Show or set for how many days records are kept. `companion record purge` then destroys what is older."""
    if days is not None:
        if days != "off" and not days.isdecimal():
            raise UsageError(f"retention {days!r}: a number of days is accepted, or `off`")
        set_retention(places.home(), None if days == "off" else int(days))
    kept = retention_days(places.home())
    if kept is None:
        tell("records are kept until they are purged one by one; set days with: companion record retention DAYS")
    else:
        tell(f"records are kept for {kept} days; destroy what is older with: companion record purge")


def _days(where: Path) -> int:
    days = retention_days(places.home())
    if days is None:
        raise UsageError(
            f"{where}: a folder is purged with --days N, or when days are set by `companion record retention N`, so "
            "that nothing recent goes by mistake"
        )
    return days


def _doomed(due: list[Path]) -> list[Path]:
    """Every file and folder that goes, the records first of all that lies beside them."""
    found: list[Path] = []
    for path in due:
        found += [path, *beside(path)]
    tables = {table for path in due for table in tables_of(path.parent)}
    tables |= {base for path in due if (base := base_path(path.parent, cache_folder())).exists()}
    return [*found, *sorted(tables)]


def _take_tables(folder: Path) -> None:
    """A table over the whole folder holds what each of its records said; it can be made anew from those left."""
    for table in tables_of(folder):
        try:
            destroy(table)
        except OSError as fault:
            raise RecordError(f"{table}: cannot be destroyed ({fault.strerror}); nothing was purged") from fault
        tell(f"{table}: destroyed, since it told of records that go; make it anew with: companion export")

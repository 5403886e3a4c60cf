"""`companion models`: list, fetch, verify and remove models."""

import sys
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn, TransferSpeedColumn

from companion.cli.terminal import tell
from companion.errors import CompanionError, ModelError

if TYPE_CHECKING:
    from companion.models.catalogue import Model

app = typer.Typer(no_args_is_help=True, help="Models that hear and read: list, fetch, verify, remove.")
ModelId = Annotated[str, typer.Argument(metavar="MODEL", help="An id that `companion models list` shows.")]


@app.command("list")
def list_() -> None:
    """Show every model of the catalogue and whether it is here."""
    from companion.models.fetch import list_models

    for listed in list_models():
        model = listed.model
        state = "not fetched" if listed.folder is None else f"here: {listed.folder}"
        tell(f"{model.id}")
        tell(f"    {model.name}; {model.language}; engine {model.engine}; {state}")
        tell(f"    {_mb(model.download)} to fetch, {_mb(model.size)} on disk; licence: {model.licence}")
    tell("PocketSphinx's English model comes with the program and needs no fetching.")


@app.command()
def fetch(
    models: Annotated[list[str], typer.Argument(metavar="MODEL...", help="Ids that `companion models list` shows.")],
) -> None:
    """Get models once; they are then used offline."""
    from companion.models.catalogue import find

    for entry in [find(model) for model in models]:
        _fetch(entry)


def _fetch(entry: "Model") -> None:
    from companion.models.fetch import fetch as get

    tell(f"{entry.name}: {_mb(entry.download)}. Licence: {entry.licence}")
    columns = (TextColumn("{task.description}"), BarColumn(), DownloadColumn(), TransferSpeedColumn())
    with Progress(*columns, console=Console(file=sys.stderr)) as bar:
        task = bar.add_task(entry.id, total=entry.download)
        folder = get(entry.id, lambda done, total: bar.update(task, completed=done, total=total))
        bar.update(task, completed=entry.download)
    tell(f"{entry.id} is here: {folder}")


@app.command()
def verify(
    model: Annotated[str | None, typer.Argument(metavar="[MODEL]", help="Without it, all that are here.")] = None,
) -> None:
    """Read every file of a model and compare it with the catalogue."""
    from companion.models.fetch import list_models
    from companion.models.fetch import verify as check

    ids = [model] if model else [listed.model.id for listed in list_models() if listed.folder is not None]
    if not ids:
        tell("no model has been fetched")
    faults: list[CompanionError] = []
    for each in ids:
        try:
            tell(f"ok    {each}: {check(each)}")
        except ModelError as fault:
            faults.append(fault)
    if faults:
        raise ModelError("\n".join(str(fault) for fault in faults))


@app.command()
def remove(model: ModelId) -> None:
    """Delete a fetched model."""
    from companion.models.fetch import remove as delete

    tell(f"removed {delete(model)}")


def _mb(count: int) -> str:
    return f"{count / 1e6:,.0f} MB"

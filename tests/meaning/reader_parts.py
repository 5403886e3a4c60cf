"""The real language model, where it has been fetched."""

from functools import cache
from pathlib import Path

from companion.meaning.reader.fetched import MODEL
from companion.models.catalogue import find, installed
from tests.realparts import need


@cache
def model_folder() -> Path:
    folder = installed(find(MODEL))
    need(folder is not None, "the model that reads is not here: companion models fetch reader")
    assert folder is not None
    return folder

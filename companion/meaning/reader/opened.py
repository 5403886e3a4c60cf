"""Opens the reader of meanings, where it was fetched."""

from functools import cache
from pathlib import Path

from companion.errors import ModelError
from companion.meaning.reader.model import ReaderModel
from companion.models.catalogue import find, installed
from companion.speech.speakable import is_english

MODEL = "meanings"
"""Its id in the catalogue of models."""
NOT_HERE = f"to be understood in your own words, fetch the model that reads them: companion models fetch {MODEL}"


def open_reader_of_meanings(language: str) -> tuple[ReaderModel | None, str]:
    """The reader, or None with what to run to have it; an empty text where there is none for the language.

    Raises ModelError for a model that is there and is not what it should be.
    """
    if not is_english(language):
        return None, ""
    folder = installed(find(MODEL))
    if folder is None:
        return None, NOT_HERE
    return _opened(folder), ""


@cache
def _opened(folder: Path) -> ReaderModel:
    try:
        return ReaderModel(folder)
    except ModelError as error:
        raise ModelError(f"{error}; fetch it again: companion models fetch {MODEL}") from error

"""Which ear to use: the one asked for, or the best that is there."""

from pathlib import Path

from companion.errors import HearingError
from companion.models.catalogue import Model, installed, load_catalogue
from companion.ports.recogniser import Recogniser

NAMES = ("scorer", "pocketsphinx", "vosk")


def open_engine(name: str | None, model_folder: Path | None, language: str) -> Recogniser:
    """A recogniser with its model loaded.

    `name` is one of `NAMES`, or None for the best there is: the phrase scorer when its model has been fetched, else
    PocketSphinx for English, else a fetched Vosk model. `model_folder` is the model to use in place of a fetched one.
    `language` is a BCP 47 tag; its first part must be the model's. Raises HearingError saying what to run.
    """
    spoken = _base(language)
    if name is None:
        name = _best(spoken, model_folder)
    if name not in NAMES:
        raise HearingError(f"`{name}` is no recogniser; accepted: {', '.join(NAMES)}")
    if name == "vosk":
        return _vosk(model_folder, language)
    if spoken != "en":
        raise HearingError(
            f"the recogniser {name} hears English only, not `{language}`; use a Vosk model: {_ways(spoken)}"
        )
    if name == "pocketsphinx":
        from companion.hearing.pocketsphinx.engine import PocketSphinxEngine

        return PocketSphinxEngine()
    folder = model_folder or _fetched("scorer", spoken)
    if folder is None:
        raise HearingError("the phrase scorer's model is not here; fetch it: companion models fetch scorer")
    from companion.hearing.scorer.engine import open_scorer

    return open_scorer(folder)


def _best(spoken: str, model_folder: Path | None) -> str:
    if model_folder is not None:
        return "scorer" if (model_folder / "tokenizer.bin").is_file() else "vosk"
    if spoken == "en":
        return "scorer" if _fetched("scorer", spoken) is not None else "pocketsphinx"
    return "vosk"


def _vosk(model_folder: Path | None, language: str) -> Recogniser:
    from companion.hearing.vosk.engine import VoskEngine

    spoken = _base(language)
    folder = model_folder or _fetched("vosk", spoken)
    if folder is None:
        raise HearingError(f"no Vosk model for `{language}` is here; {_ways(spoken)}")
    engine = VoskEngine(folder, _language_of(folder) or language)
    if _base(engine.language) != spoken:
        engine.close()
        raise HearingError(f"{folder}: this model hears `{engine.language}`, the procedure is in `{language}`")
    return engine


def _fetched(engine: str, spoken: str) -> Path | None:
    """The folder of the first model in the catalogue that fits and is here."""
    for model in load_catalogue():
        if model.engine == engine and _base(model.language) == spoken:
            folder = installed(model)
            if folder is not None:
                return folder
    return None


def _language_of(folder: Path) -> str | None:
    """The language the catalogue or the folder's own name gives, as in `vosk-model-small-en-us-0.15`."""
    for model in load_catalogue():
        if model.id == folder.name:
            return model.language
    parts = folder.name.removeprefix("vosk-model-").removeprefix("small-").split("-")
    if not folder.name.startswith("vosk-model-") or not (parts[0].isalpha() and 2 <= len(parts[0]) <= 3):
        return None
    region = parts[1].upper() if len(parts) > 1 and len(parts[1]) == 2 and parts[1].isalpha() else ""
    return f"{parts[0]}-{region}" if region else parts[0]


def _ways(spoken: str) -> str:
    fitting: list[Model] = [m for m in load_catalogue() if m.engine == "vosk" and _base(m.language) == spoken]
    if fitting:
        return f"fetch one: companion models fetch {fitting[0].id}"
    return "name the folder of a Vosk model of that language with --model"


def _base(language: str) -> str:
    return language.split("-", maxsplit=1)[0].lower()

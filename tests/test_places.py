"""Where files are kept, and how the user moves it."""

from pathlib import Path

import platformdirs
import pytest

from companion import places


def test_one_variable_moves_everything(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    monkeypatch.delenv("COMPANION_MODELS", raising=False)
    found = [places.home(), places.records(), places.keys(), places.models(), places.procedures(), places.cache()]
    assert found == [tmp_path, *(tmp_path / name for name in ("records", "keys", "models", "procedures", "cache"))]
    monkeypatch.setenv("COMPANION_MODELS", "~/shared models")
    assert places.models() == Path.home() / "shared models"


def test_else_the_operating_systems_own_place(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COMPANION_HOME", raising=False)
    assert str(places.home()) == platformdirs.user_data_dir("procedure-companion", appauthor=False)
    assert str(places.cache()) == platformdirs.user_cache_dir("procedure-companion", appauthor=False)
    monkeypatch.setenv("COMPANION_HOME", "")  # set to nothing is not set
    assert places.home().is_absolute()

"""No test sees the keys of the person who runs it."""

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that stands for the user's own."""
    folder = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("COMPANION_HOME", str(folder))
    return folder

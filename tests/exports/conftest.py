"""Records of several ends, made once."""

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from companion.exports.source import Source
from companion.record.trusted import trust
from tests.exports.making import drill, insulin, source
from tests.record.making import key

ENDS = ("drill", "insulin", "refused", "partly given", "open", "open at the injection")


@pytest.fixture(autouse=True)
def home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that stands for the user's own, where nothing is but the key of the tests' records among those known."""
    folder = tmp_path_factory.mktemp("home")
    trust(folder / "keys", key().public, "tests")
    monkeypatch.setenv("COMPANION_HOME", str(folder))
    return folder


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Source]:
    """A record by its end, one of `ENDS`."""

    @cache
    def make(end: str) -> Source:
        folder = tmp_path_factory.mktemp("records")
        match end:
            case "drill":
                return source(drill(folder))
            case "insulin":
                return source(insulin(folder))
            case "refused":
                return source(insulin(folder, {"agreement": "no agreement"}))
            case "partly given":
                return source(insulin(folder, {"inject": "needle came out"}))
            case "open":
                return source(insulin(folder, to="label-second", close=False))
        assert end == "open at the injection"
        return source(insulin(folder, to="inject", close=False))

    return make


@pytest.fixture(params=ENDS)
def each(request: pytest.FixtureRequest, made: Callable[[str], Source]) -> Source:
    """Each of them in turn."""
    return made(request.param)

"""The phrase scorer's model and human recordings, for the tests that need them."""

from functools import cache
from pathlib import Path

from companion.hearing.scorer.model import ScorerModel
from companion.models.catalogue import installed, load_catalogue
from tests.realparts import need

CARDS = Path("/usr/share/pocketsphinx/test/data/cards")
"""Debian package pocketsphinx-testdata (BSD-2): five card-game commands, one speaker, with transcripts."""
SENTENCES = Path("/usr/share/pocketsphinx/test/data/librivox")
"""The same package: five read sentences."""
COMMAND = Path("/usr/share/pocketsphinx/test/data/goforward.raw")
"""The same package: "go forward ten meters", 16 kHz, 16 bits."""


def scorer_folder() -> Path:
    """The fetched model; the test is skipped (fails in CI) without it."""
    models = [model for model in load_catalogue() if model.engine == "scorer"]
    folder = installed(models[0]) if models else None
    need(folder is not None, "the phrase scorer is not here: companion models fetch scorer")
    assert folder is not None
    return folder


@cache
def _model(folder: Path) -> ScorerModel:
    return ScorerModel(folder)


def scorer_model() -> ScorerModel:
    """Loaded once for all tests."""
    return _model(scorer_folder())


def need_human_sound() -> None:
    need(CARDS.is_dir(), "human recordings are missing: apt install pocketsphinx-testdata")

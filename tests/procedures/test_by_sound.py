"""The critical procedures besides the demo's, spoken through by sound to the signature, with a branch on the way.

The voices are flite's, made on the spot; the recogniser is the embedded one, which needs nothing fetched, and once the
phrase scorer. The phrases are the library's own. That a low glucose is treated before anything else: ADA, JBDS 01.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.hearing.engines import open_engine
from companion.ports.recogniser import Recogniser
from companion.procedure.loading import load
from tests.hearing.scorer_parts import scorer_folder
from tests.procedures.facts import Said, facts
from tests.procedures.library import FOLDER
from tests.procedures.speaking import People, speak

REFUSAL = facts("vaccine-deltoid").given | {"agreement": ("no agreement",)}
LOW = "sixty two milligrams per deciliter"


@pytest.fixture(scope="module")
def ears() -> Iterator[Recogniser]:
    """The embedded recogniser, opened once."""
    recogniser = open_engine("pocketsphinx", None, "en-US")
    yield recogniser
    recogniser.close()


@pytest.mark.parametrize(
    ("name", "script", "branch"),
    [
        ("vaccine-deltoid", {"bubbles": ("bubbles are there", "no bubbles left")}, "bubbles-seen"),
        ("insulin-pen", {"prime-drop": ("nothing came out",)}, "no-drop"),
        ("capillary-glucose", {"wash-finger": ("washing is not possible",)}, "no-washing"),
        ("low-glucose-response", {"glucose-again": (LOW, "ninety milligrams per deciliter")}, "still-low"),
    ],
)
def test_it_is_spoken_through_to_the_signature_and_through_a_branch(
    name: str, script: dict[str, Said], branch: str, ears: Recogniser, tmp_path: Path
) -> None:
    loaded = load(FOLDER / f"{name}.yaml")
    spoken = speak(loaded, People(loaded.procedure, facts(name).given | script), ears, tmp_path)
    assert spoken.state.status == "finished"
    procedure = spoken.told.procedure
    assert set(spoken.confirmed()) >= {step.id for step in procedure.steps if step.when is None}
    assert spoken.by() == {("voice", "pocketsphinx")}, "nothing was typed"
    assert spoken.branches() == [branch]
    assert spoken.told.state.performer == "41"


@pytest.mark.parametrize(
    ("name", "script", "reason", "steps"),
    [
        ("vaccine-deltoid", REFUSAL, "The patient refused.", 2),
        ("insulin-pen", {"glucose": LOW, "low-decide": "held for now"}, "The dose could not be given now", 1),
    ],
)
def test_what_forbids_giving_it_ends_the_session_by_sound(
    name: str, script: dict[str, Said], reason: str, steps: int, ears: Recogniser, tmp_path: Path
) -> None:
    loaded = load(FOLDER / f"{name}.yaml")
    spoken = speak(loaded, People(loaded.procedure, facts(name).given | script), ears, tmp_path)
    assert spoken.state.status == "abandoned"
    assert spoken.state.outcome.startswith(reason)
    assert len(spoken.told.procedure.branch(spoken.branches()[-1]).steps) == steps
    assert "inject" not in spoken.confirmed()


def test_the_phrase_scorer_hears_a_refusal_too(tmp_path: Path) -> None:
    scorer_folder()
    scorer = open_engine("scorer", None, "en-US")
    try:
        loaded = load(FOLDER / "vaccine-deltoid.yaml")
        spoken = speak(loaded, People(loaded.procedure, REFUSAL), scorer, tmp_path)
    finally:
        scorer.close()
    assert spoken.state.outcome == "The patient refused."
    assert spoken.by() == {("voice", scorer.name)}

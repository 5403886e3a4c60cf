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
from tests.procedures.library import FOLDER
from tests.procedures.speaking import speak
from tests.procedures.walking import Script

HIGH = "one hundred forty milligrams per deciliter"
LOW = "sixty two milligrams per deciliter"
VACCINE = {
    "ordered-vaccine": "influenza",
    "ordered-volume": "half a milliliter",
    "allergies": "never had any",
    "expiry": "june twenty thirty one",
    "opened-on": "fourth of march twenty thirty",
    "side": "left deltoid",
}
REFUSAL: Script = {"agreement": ("no agreement",), **VACCINE}
PEN = {
    "ordered-kind": "rapid acting",
    "ordered-dose": "eighteen units",
    "glucose": HIGH,
    "pen-strength": "one hundred units per milliliter",
    "expiry": "june twenty thirty one",
    "opened-on": "first of march twenty thirty",
    "site": "left abdomen",
}
LOW_PEN: Script = PEN | {
    "glucose": LOW,
    "low-again": "ninety milligrams per deciliter",
    "low-decide": "held for now",
}
FINGER = {
    "strip-expiry": "june twenty thirty one",
    "strips-opened": "first of march twenty thirty",
    "finger": "left ring finger",
    "glucose": HIGH,
}
RESPONSE = {"figure": "below the limit", "glucose": LOW, "glucose-again": (LOW, "ninety milligrams per deciliter")}


@pytest.fixture(scope="module")
def ears() -> Iterator[Recogniser]:
    """The embedded recogniser, opened once."""
    recogniser = open_engine("pocketsphinx", None, "en-US")
    yield recogniser
    recogniser.close()


@pytest.mark.parametrize(
    ("name", "script", "branch"),
    [
        ("vaccine-deltoid", VACCINE | {"bubbles": ("bubbles are there", "no bubbles left")}, "bubbles-seen"),
        ("insulin-pen", PEN | {"prime-drop": ("nothing came out",)}, "no-drop"),
        ("capillary-glucose", FINGER | {"wash-finger": ("washing is not possible",)}, "no-washing"),
        ("low-glucose-response", RESPONSE, "still-low"),
    ],
)
def test_it_is_spoken_through_to_the_signature_and_through_a_branch(
    name: str, script: Script, branch: str, ears: Recogniser, tmp_path: Path
) -> None:
    spoken = speak(load(FOLDER / f"{name}.yaml"), script, ears, tmp_path)
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
        ("insulin-pen", LOW_PEN, "The dose could not be given now", 1),
    ],
)
def test_what_forbids_giving_it_ends_the_session_by_sound(
    name: str, script: Script, reason: str, steps: int, ears: Recogniser, tmp_path: Path
) -> None:
    spoken = speak(load(FOLDER / f"{name}.yaml"), script, ears, tmp_path)
    assert spoken.state.status == "abandoned"
    assert spoken.state.outcome.startswith(reason)
    assert len(spoken.told.procedure.branch(spoken.branches()[-1]).steps) == steps
    assert "inject" not in spoken.confirmed()


def test_the_phrase_scorer_hears_a_refusal_too(tmp_path: Path) -> None:
    scorer_folder()
    scorer = open_engine("scorer", None, "en-US")
    try:
        spoken = speak(load(FOLDER / "vaccine-deltoid.yaml"), REFUSAL, scorer, tmp_path)
    finally:
        scorer.close()
    assert spoken.state.outcome == "The patient refused."
    assert spoken.by() == {("voice", scorer.name)}

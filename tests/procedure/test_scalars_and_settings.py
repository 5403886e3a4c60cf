"""Text stays text until the model types it, and settings are filled in before that."""

import hashlib
from pathlib import Path

import pytest
import yaml

from companion.errors import ProcedureError
from companion.procedure.kinds.identification import IdentificationStep
from companion.procedure.kinds.reading import ReadingStep
from companion.procedure.kinds.wait import WaitStep
from companion.procedure.loading import load, load_text
from companion.procedure.loading.nodes import compose
from companion.procedure.loading.settings import plain
from companion.speech.values import ChoiceValue

FILE = Path(__file__).parents[1] / "data" / "whole.yaml"
WHOLE = FILE.read_text(encoding="utf-8")


def with_choices(*choices: str) -> str:
    return WHOLE.replace("[left arm, right arm]", "[" + ", ".join(choices) + "]")


def test_words_that_yaml_1_1_would_turn_into_something_else_stay_words() -> None:
    """YAML 1.1 types: https://yaml.org/type/bool.html, /int.html (base 60), /null.html, /timestamp.html."""
    words = ("yes", "no", "on", "off", "y", "null", "true")
    step = load_text(with_choices(*words)).procedure.step("side")
    assert isinstance(step, ReadingStep)
    assert isinstance(step.value, ChoiceValue)
    assert step.value.choices == words


def test_every_scalar_is_the_text_that_was_written() -> None:
    text = "a: 12:30\nb: no\nc: 0o17\nd: 2022-01-05\ne: ~\nf:\ng: 1_000\nh: .5\ni: 1e3\nj: '007'\nk: =\n"
    root, faults = compose(text)
    assert not faults
    assert plain(root) == yaml.load(text, Loader=yaml.BaseLoader)  # BaseLoader makes text only
    assert plain(root) == {
        "a": "12:30", "b": "no", "c": "0o17", "d": "2022-01-05", "e": "~", "f": "",
        "g": "1_000", "h": ".5", "i": "1e3", "j": "007", "k": "=",
    }  # fmt: skip


@pytest.mark.parametrize(("written", "meant"), [("yes", True), ("no", False), ("true", True), ("off", False)])
def test_a_truth_may_be_written_in_words(written: str, meant: bool) -> None:
    text = WHOLE.replace("    say: Which side?", f"    say: Which side?\n    read_back: {written}")
    step = load_text(text).procedure.step("side")
    assert isinstance(step, ReadingStep)
    assert step.read_back is meant


def test_settings_are_filled_in_and_typed_afterwards() -> None:
    procedure = load_text(WHOLE).procedure
    wait, who = procedure.step("rubbing"), procedure.step("who")
    assert isinstance(wait, WaitStep)
    assert isinstance(who, IdentificationStep)
    assert (wait.at_least, who.count) == (20, 2)


def test_local_policy_comes_first() -> None:
    procedure = load_text(WHOLE, overrides={"rub": "30 s", "names": "1"}).procedure
    wait, who = procedure.step("rubbing"), procedure.step("who")
    assert isinstance(wait, WaitStep)
    assert isinstance(who, IdentificationStep)
    assert (wait.at_least, who.count) == (30, 1)
    assert {setting.id: setting.value for setting in procedure.settings} == {"rub": "30 s", "names": "1"}


@pytest.mark.parametrize(
    ("overrides", "line", "words"),
    [
        ({"rub": "5 s"}, 15, "the value is `5 s`; accepted: from 20 to 30"),
        ({"rub": "soon"}, 15, "the value is `soon`"),
        ({"rub": "soon"}, 34, "`soon` is not a duration"),
        ({"names": "3"}, 10, "the value is `3`; accepted: from 1 to 2"),
        ({"names": "two"}, 43, "`count` is `two`; accepted: a whole number"),
        ({"glove": "yes"}, 8, "local policy sets `glove`, which is no setting here; accepted: names, rub"),
    ],
)
def test_local_policy_is_checked_like_the_file(overrides: dict[str, str], line: int, words: str) -> None:
    with pytest.raises(ProcedureError) as caught:
        load_text(WHOLE, "ward.yaml", overrides)
    assert any(fault.startswith(f"ward.yaml:{line}: ") and words in fault for fault in caught.value.faults)


def test_what_is_loaded_can_be_pinned() -> None:
    loaded = load(FILE)
    assert loaded.text == WHOLE
    assert loaded.path == str(FILE)
    assert loaded.sha256 == hashlib.sha256(FILE.read_bytes()).hexdigest()
    assert load_text(loaded.text).sha256 == loaded.sha256
